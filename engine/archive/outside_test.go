package archive

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// bagFolders are the bags of an archive.
func bagFolders(t *testing.T, archive string) []string {
	t.Helper()
	list, err := filepath.Glob(filepath.Join(archive, "*", "*", "bagit.txt"))
	if err != nil || len(list) == 0 {
		t.Fatal("no bags", err)
	}
	for i := range list {
		list[i] = filepath.Dir(list[i])
	}
	return list
}

// tool finds a program of another hand; the test is skipped where it is not
// installed, unless all are demanded.
func tool(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("%s is not installed", name)
	}
	return path
}

// TestSumTools has the bags checked by sha256sum and sha512sum of the GNU
// coreutils, which know nothing of bags; and finds that they see a change.
func TestSumTools(t *testing.T) {
	archive := signedArchive(t)
	bag := bagFolders(t, archive)[0]
	check := func(name, of string) ([]byte, error) {
		c := exec.Command(tool(t, name), "-c", "--strict", "--quiet", of)
		c.Dir = bag
		return c.CombinedOutput()
	}
	for _, bag = range bagFolders(t, archive) {
		for _, of := range []string{"manifest", "tagmanifest"} {
			for _, a := range []string{"sha256", "sha512"} {
				if out, err := check(a+"sum", of+"-"+a+".txt"); err != nil {
					t.Errorf("%s: %s %v", of, out, err)
				}
			}
		}
	}
	// The lines of the ledger, as the marker says.
	lines := strings.SplitAfter(hurt{t, archive}.read("wf-7/ledger.jsonl"), "\n")
	for i, l := range lines[1 : len(lines)-1] {
		c := exec.Command(tool(t, "sha256sum"))
		c.Stdin = strings.NewReader(lines[i])
		out, err := c.Output()
		if err != nil || !strings.Contains(l, `"previous":"`+string(out[:64])+`"`) {
			t.Errorf("line %d does not name the sum of the one before, %s %v", i+2, out, err)
		}
	}
	hurt{t, bag}.write("data/record.html", "x")
	for _, a := range []string{"sha256", "sha512"} {
		if out, err := check(a+"sum", "manifest-"+a+".txt"); err == nil {
			t.Errorf("%ssum found nothing: %s", a, out)
		}
	}
}

// TestSecondRoute has the bags checked by a script that was written from RFC
// 8493 alone, in another language; and finds that it sees faults.
func TestSecondRoute(t *testing.T) {
	python := tool(t, "python3")
	check := func(bags ...string) ([]byte, error) {
		return exec.Command(python, append([]string{"testdata/check_bag.py"}, bags...)...).CombinedOutput()
	}
	archive := signedArchive(t)
	if out, err := check(bagFolders(t, archive)...); err != nil {
		t.Errorf("%s %v", out, err)
	}
	for name, do := range map[string]func(hurt){
		"changed":  func(h hurt) { h.write("data/record.html", "x") },
		"missing":  func(h hurt) { h.must(os.Remove(h.path("data/results.json"))) },
		"added":    func(h hurt) { h.write("data/new", "x") },
		"tag file": func(h hurt) { h.write("bag-info.txt", h.read("bag-info.txt")+"New: x\n") },
		"bagit":    func(h hurt) { h.write("bagit.txt", "BagIt-Version: 0.97\n") },
	} {
		h := hurt{t, copyTree(t, bagFolders(t, archive)[0])}
		do(h)
		if out, err := check(h.dir); err == nil {
			t.Errorf("%s: found nothing: %s", name, out)
		}
	}
}
