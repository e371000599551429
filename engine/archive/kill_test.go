package archive

import (
	"errors"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
)

// killAt tells the child process at which step it is to kill itself.
const killAt = "TAUT_TEST_KILL_AT"

func TestMain(m *testing.M) {
	if at := os.Getenv(killAt); at != "" {
		killedChild(at)
	}
	os.Exit(inMemory(m))
}

// inMemory runs the tests with their folders in memory, where the system has
// such a place: they make many thousands of files.
func inMemory(m *testing.M) int {
	if dir, err := os.MkdirTemp("/dev/shm", "taut-test-"); err == nil {
		defer os.RemoveAll(dir)
		if err := os.Setenv("TMPDIR", dir); err != nil {
			panic(err)
		}
	}
	return m.Run()
}

// killedChild seals, and kills itself before the kth change of the file
// system: no deferred call and no handler runs.
func killedChild(at string) {
	k, err := strconv.Atoi(at)
	if err != nil {
		panic(err)
	}
	n := 0
	o := sealing()
	o.Key = testKey
	o.hooks = hooks{step: func(string, string) error {
		if n++; n == k {
			p, err := os.FindProcess(os.Getpid())
			if err == nil {
				err = p.Kill()
			}
			fmt.Println("not killed:", err)
			select {}
		}
		return nil
	}}
	args := os.Args[1:]
	if _, err := Seal(args[0], args[1:], o, func(*Sealing) {}); err != nil {
		fmt.Println(err)
		os.Exit(3)
	}
	fmt.Println("steps", n)
	os.Exit(0)
}

// interruption is what a sealing does to an archive: begun with before, ended
// undisturbed with after.
type interruption struct {
	name    string
	dir     string
	before  map[string]string // nil where there is no archive yet
	after   map[string]string
	records []string
	steps   int
}

// interruptions are a first sealing, which makes the archive, and one into an
// archive that is there: a bag that amends one, one for an apparatus that is
// new.
func interruptions(t *testing.T) []*interruption {
	dir := t.TempDir()
	files := maps.Clone(tiny)
	writeFiles(t, dir, files)
	first := &interruption{name: "new archive", dir: dir, records: []string{filepath.Join(dir, "wf/record.md")}}
	first.run(t)

	later := t.TempDir()
	files["wf/record.md"] = strings.Replace(files["wf/record.md"], "long.\n", "long, read once more.\n", 1)
	files["other/record.md"] = "---\ntitle: Nothing\ndate: 2026-04-01\n---\n\n`=[2 m]`\n"
	writeFiles(t, later, files)
	second := &interruption{name: "further bags", dir: later, before: first.after,
		records: []string{filepath.Join(later, "wf/record.md"), filepath.Join(later, "other/record.md")}}
	second.run(t)
	return []*interruption{first, second}
}

// options are those of the sealing.
func (x *interruption) options(step func(op, name string) error) Options {
	o := sealing()
	o.Key, o.hooks.step = testKey, step
	return o
}

// run seals undisturbed and notes what comes of it.
func (x *interruption) run(t *testing.T) {
	archive := x.start(t)
	o := x.options(func(string, string) error { x.steps++; return nil })
	sealTo(t, archive, o, x.records...)
	if x.after = tree(t, archive); x.steps < 60 {
		t.Fatalf("%s: only %d steps", x.name, x.steps)
	}
}

// each does something for each step of the interruptions, or for each of so
// many, on all processors.
func each(t *testing.T, stride int, do func(t *testing.T, x *interruption, k int)) {
	for _, x := range interruptions(t) {
		const parts = 4
		for part := range parts {
			t.Run(fmt.Sprintf("%s, %d", x.name, part+1), func(t *testing.T) {
				t.Parallel()
				for k := 1 + part*stride; k <= x.steps && !t.Failed(); k += parts * stride {
					if do(t, x, k); t.Failed() {
						t.Errorf("step %d of %d", k, x.steps)
					}
				}
			})
		}
	}
}

// start is an archive as it is before.
func (x *interruption) start(t *testing.T) string {
	archive := filepath.Join(t.TempDir(), "archive")
	if x.before == nil {
		return archive
	}
	files := map[string]string{}
	for name, text := range x.before {
		if !strings.HasSuffix(name, "/") {
			files[name] = text
		}
	}
	writeFiles(t, archive, files)
	return archive
}

// isWhole demands that an archive is as before or complete, and that verifying
// it says so.
func (x *interruption) isWhole(t *testing.T, archive string) {
	t.Helper()
	now := tree(t, archive)
	if _, made := now[markerName]; !made {
		for name := range now {
			if !strings.HasPrefix(name, stagingPrefix) {
				t.Errorf("there is no archive, but there is %s", name)
			}
		}
		return
	}
	r := verified(t, archive, VerifyOptions{Quick: true})
	for _, u := range r.Units {
		for _, f := range u.Findings {
			if f.Slug != "interrupted" {
				t.Errorf("verify: %s", f)
			}
		}
		if u.Bag == nil {
			continue
		}
		// Every bag that a ledger lists is there, to the byte.
		for name, text := range x.after {
			if strings.HasPrefix(name, u.Path+"/") && now[name] != text {
				t.Errorf("%s is not as it should be", name)
			}
		}
	}
	for name, text := range x.before {
		if have, there := now[name]; !strings.HasSuffix(name, "/"+ledgerName) && (!there || have != text) {
			t.Errorf("%s is not as it was", name)
		}
	}
}

// again seals once more and demands what an undisturbed sealing gives.
func (x *interruption) again(t *testing.T, archive string) {
	t.Helper()
	sealTo(t, archive, x.options(nil), x.records...)
	if now := tree(t, archive); !maps.Equal(now, x.after) {
		t.Errorf("sealed again: %v\nnot: %v", slices.Sorted(maps.Keys(now)), slices.Sorted(maps.Keys(x.after)))
	}
}

// TestTorn ends a sealing before each change of the file system, the writing of
// half a file included, as a kill would: nothing is done any more. The archive
// is as before or complete, verify says so, and sealing again gives what an
// undisturbed sealing gives.
func TestTorn(t *testing.T) {
	type killed struct{}
	stride := 1
	if testing.Short() {
		stride = 7
	}
	each(t, stride, func(t *testing.T, x *interruption, k int) {
		archive := x.start(t)
		func() {
			defer func() {
				if r := recover(); r != (killed{}) {
					t.Errorf("it was not ended: %v", r)
				}
			}()
			n := 0
			o := x.options(func(string, string) error {
				if n++; n >= k { // and nothing is tidied up afterwards
					panic(killed{})
				}
				return nil
			})
			_, err := Seal(archive, x.records, o, func(*Sealing) {})
			t.Error(err)
		}()
		x.isWhole(t, archive)
		x.again(t, archive)
	})
}

// allKills has TestKilled try every step: it takes minutes.
const allKills = "TAUT_TEST_ALL_KILLS"

// TestKilled does so with processes that are killed, and with files that do
// reach the disk, before some of the changes.
func TestKilled(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	stride := 7
	switch {
	case os.Getenv(allKills) != "":
		stride = 1
	case testing.Short():
		stride = 29
	}
	each(t, stride, func(t *testing.T, x *interruption, k int) {
		archive := x.start(t)
		c := exec.Command(self, append([]string{archive}, x.records...)...)
		c.Env = append(os.Environ(), killAt+"="+strconv.Itoa(k))
		out, err := c.CombinedOutput()
		if err == nil || len(out) > 0 {
			t.Fatalf("it was not killed: %s", out)
		}
		x.isWhole(t, archive)
		x.again(t, archive)
	})
}

// TestFullDisk lets each change of the file system fail in turn, as on a disk
// that is full: that one alone, or at every second with all that follow.
func TestFullDisk(t *testing.T) {
	stride := 1
	if testing.Short() {
		stride = 7
	}
	each(t, stride, func(t *testing.T, x *interruption, k int) {
		forAll := k%2 == 0
		archive := x.start(t)
		n := 0
		var op string
		o := x.options(func(o, name string) error {
			if n++; n == k || forAll && n > k {
				if n == k {
					op = o
				}
				return &os.PathError{Op: o, Path: name, Err: syscall.ENOSPC}
			}
			return nil
		})
		_, err := Seal(archive, x.records, o, func(*Sealing) {})
		var f *Finding
		if !errors.As(err, &f) || !strings.Contains(err.Error(), "no space left") {
			t.Errorf("%s: %v", op, err)
		}
		if _, e := os.Stat(archive); e == nil {
			x.isWhole(t, archive)
		}
		x.again(t, archive)
	})
}
