package main

import (
	"bytes"
	"crypto/sha256"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/metrics"
	"strings"
	"testing"
	"time"
)

var batchSize = flag.Int("records", 1000, "how many records the benchmarks of batches build")

// lots lays n copies of the main example out in a new folder, no two with the
// same readings, and returns it.
func lots(b *testing.B, n int) string {
	b.Helper()
	from := filepath.Dir(mainExample)
	files := map[string][]byte{}
	for _, name := range []string{"record.md", "frame-2.yaml", "pull.csv"} {
		text, err := os.ReadFile(filepath.Join(from, name))
		if err != nil {
			b.Fatal(err)
		}
		files[name] = text
	}
	dir := b.TempDir()
	for i := range n {
		at := filepath.Join(dir, fmt.Sprintf("%02d", i/100), fmt.Sprintf("wire-%05d", i))
		if err := os.MkdirAll(at, 0o777); err != nil {
			b.Fatal(err)
		}
		for name, text := range files {
			if name == "pull.csv" {
				text = bytes.ReplaceAll(text, []byte("3.57, 3.57"), fmt.Appendf(nil, "3.57%04d, 3.57", i))
			}
			if err := os.WriteFile(filepath.Join(at, name), text, 0o666); err != nil {
				b.Fatal(err)
			}
		}
	}
	return dir
}

// lot is a folder of records and where their pages go.
type lot struct {
	b        *testing.B
	dir, out string
	size     int
}

// build builds the lot as `taut build` does, with the caches of a new process,
// and returns how long it took and how many pages were up to date.
func (l *lot) build(args ...string) (time.Duration, int) {
	l.b.Helper()
	var out, errs bytes.Buffer
	began := time.Now()
	code := run(append([]string{"build", l.dir, "-o", l.out}, args...), strings.NewReader(""), &out, &errs)
	took := time.Since(began)
	if code != exitOK {
		l.b.Fatalf("exit code %d: %s", code, errs.String())
	}
	return took, l.size - strings.Count(out.String(), "\n")
}

// hash reads the files of the lot and its pages, one after the other, and
// takes their sums: what it takes at least to know that nothing has changed.
func (l *lot) hash() time.Duration {
	l.b.Helper()
	began := time.Now()
	for _, dir := range []string{l.dir, l.out} {
		err := filepath.WalkDir(dir, func(p string, e os.DirEntry, err error) error {
			if err != nil || e.IsDir() {
				return err
			}
			text, err := os.ReadFile(p)
			sha256.Sum256(text)
			return err
		})
		if err != nil {
			l.b.Fatal(err)
		}
	}
	return time.Since(began)
}

// change changes a reading of one of the records.
func (l *lot) change(i int) {
	p := filepath.Join(l.dir, fmt.Sprintf("%02d", i/100), fmt.Sprintf("wire-%05d", i), "pull.csv")
	text, err := os.ReadFile(p)
	if err != nil {
		l.b.Fatal(err)
	}
	if err := os.WriteFile(p, bytes.ReplaceAll(text, []byte("2.43"), []byte("2.430")), 0o666); err != nil {
		l.b.Fatal(err)
	}
}

// BenchmarkBatch builds many records and builds them again. All figures are of
// one run, so that their ratios can be quoted:
//
//	full-ms/record     by one worker, everything drawn
//	two-workers-×      how many times faster two workers are
//	same/hash          nothing changed, by one worker, over reading and hashing
//	                   the files of the records and their pages
//	same-two/hash      the same by two workers
//	same/full-%        nothing changed over the full build, by one worker
//	one-changed-ms     what one changed record adds to that, its draws included
func BenchmarkBatch(b *testing.B) {
	b.Setenv(keepVariable, b.TempDir())
	for b.Loop() {
		n := *batchSize
		l := &lot{b, lots(b, n), b.TempDir(), n}
		full, _ := l.build("-j", "1", "--anew")
		two, _ := l.build("-j", "2", "--anew")
		same, sameTwo, hash, one := time.Hour, time.Hour, time.Hour, time.Hour
		for i := range 5 {
			hash = min(hash, l.hash())
			t, kept := l.build("-j", "1")
			if kept != n {
				b.Fatalf("%d of %d pages were up to date", kept, n)
			}
			same = min(same, t)
			t, _ = l.build("-j", "2")
			sameTwo = min(sameTwo, t)
			l.change(i * n / 5)
			t, kept = l.build("-j", "2")
			if kept != n-1 {
				b.Fatalf("%d of %d pages were up to date after a change", kept, n)
			}
			one = min(one, t)
		}
		ratio := func(a, b time.Duration) float64 { return float64(a) / float64(b) }
		b.ReportMetric(ratio(full, time.Millisecond)/float64(n), "full-ms/record")
		b.ReportMetric(ratio(full, two), "two-workers-×")
		b.ReportMetric(ratio(hash, time.Millisecond)/float64(n), "hash-ms/record")
		b.ReportMetric(ratio(same, hash), "same/hash")
		b.ReportMetric(ratio(sameTwo, hash), "same-two/hash")
		b.ReportMetric(100*ratio(same, full), "same/full-%")
		b.ReportMetric(ratio(one-sameTwo, time.Millisecond), "one-changed-ms")
	}
}

// BenchmarkBatchMemory measures the largest heap, garbage included, while a
// tenth of the records and then all are built, and then found unchanged.
func BenchmarkBatchMemory(b *testing.B) {
	b.Setenv(keepVariable, b.TempDir())
	for b.Loop() {
		for _, n := range []int{max(*batchSize/10, 1), *batchSize} {
			dir, out := lots(b, n), b.TempDir()
			for _, what := range []string{"build", "same"} {
				peak := heapDuring(func() {
					if code := run([]string{"build", dir, "-o", out, "-j", "2"}, strings.NewReader(""), io.Discard, io.Discard); code != exitOK {
						b.Fatalf("exit code %d", code)
					}
				})
				b.ReportMetric(float64(peak)/(1<<20), fmt.Sprintf("%s-%d-MiB", what, n))
			}
		}
	}
}

// heapDuring returns the most memory that the heap took while work ran, in
// bytes: objects, dead ones not yet collected among them.
func heapDuring(work func()) uint64 {
	done := make(chan struct{})
	most := make(chan uint64)
	go func() {
		var peak uint64
		s := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
		for {
			metrics.Read(s)
			peak = max(peak, s[0].Value.Uint64())
			select {
			case <-done:
				most <- peak
				return
			case <-time.After(time.Millisecond):
			}
		}
	}()
	work()
	close(done)
	return <-most
}
