package archive

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

const (
	bagA = "wf-7/2026-03-12-a-wires-length"
	bagB = "wf-7/2026-03-19-a-wires-length-again"
)

// hurt is an archive that is to be damaged.
type hurt struct {
	t   *testing.T
	dir string
}

func (h hurt) path(name string) string { return filepath.Join(h.dir, filepath.FromSlash(name)) }

func (h hurt) must(err error) {
	h.t.Helper()
	if err != nil {
		h.t.Fatal(err)
	}
}

func (h hurt) read(name string) string {
	h.t.Helper()
	text, err := os.ReadFile(h.path(name))
	h.must(err)
	return string(text)
}

func (h hurt) write(name, text string) {
	h.t.Helper()
	h.must(os.MkdirAll(filepath.Dir(h.path(name)), 0o777))
	_ = os.Chmod(h.path(name), 0o600)
	h.must(os.WriteFile(h.path(name), []byte(text), 0o600))
}

func (h hurt) lines(edit func([]string) []string) {
	h.t.Helper()
	list := strings.SplitAfter(h.read("wf-7/ledger.jsonl"), "\n")
	h.write("wf-7/ledger.jsonl", strings.Join(edit(list[:len(list)-1]), ""))
}

// TestDamage damages an archive in one way after the other; each is found,
// where it is and by what it is. Without a word nothing may be found.
func TestDamage(t *testing.T) {
	sealed := signedArchive(t)
	for _, c := range []struct {
		name  string
		do    func(hurt)
		wants string // "path: slug"; several joined by "|", all of which must be there; "" for none
	}{
		{"nothing", func(hurt) {}, ""},
		{"times", func(h hurt) {
			for name := range tree(h.t, h.dir) {
				h.must(os.Chtimes(h.path(name), time.Unix(1, 0), time.Unix(1, 0)))
			}
		}, ""},
		{"permissions", func(h hurt) { h.must(os.Chmod(h.path(bagA+"/bagit.txt"), 0o600)) }, ""},
		{"file renamed", func(h hurt) {
			h.must(os.Rename(h.path(bagA+"/data/source/wf/long.csv"), h.path(bagA+"/data/source/wf/Long.csv")))
		}, bagA + "/data/source/wf/long.csv: missing|" + bagA + "/data/source/wf/Long.csv: stray"},
		{"file removed", func(h hurt) { h.must(os.Remove(h.path(bagA + "/data/source/wf/long.csv"))) }, bagA + "/data/source/wf/long.csv: missing"},
		{"page removed", func(h hurt) { h.must(os.Remove(h.path(bagA + "/data/record.html"))) }, bagA + "/data/record.html: missing|" + bagA + ": rerun-differs"},
		{"file added", func(h hurt) { h.write(bagA+"/data/extra.txt", "x") }, bagA + "/data/extra.txt: stray"},
		{"tag file added", func(h hurt) { h.write(bagA+"/fetch.txt", "http://example.org/ 1 data/x\n") }, bagA + "/fetch.txt: stray"},
		{"file emptied", func(h hurt) { h.write(bagA+"/data/source/wf/long.csv", "") }, bagA + "/data/source/wf/long.csv: changed"},
		{"empty file removed", func(h hurt) { h.must(os.Remove(h.path(bagA + "/data/source/taut.root"))) }, bagA + "/data/source/taut.root: missing"},
		{"file cut off", func(h hurt) {
			text := h.read(bagA + "/data/record.html")
			h.write(bagA+"/data/record.html", text[:len(text)-1])
		}, bagA + "/data/record.html: changed|" + bagA + ": rerun-differs"},
		{"empty folder added", func(h hurt) { h.must(os.Mkdir(h.path(bagA+"/data/new"), 0o777)) }, bagA + "/data/new: stray"},
		{"file by a folder", func(h hurt) {
			h.must(os.Remove(h.path(bagA + "/bagit.txt")))
			h.must(os.Mkdir(h.path(bagA+"/bagit.txt"), 0o777))
		}, bagA + "/bagit.txt: stray|" + bagA + "/bagit.txt: missing"},
		{"bag removed", func(h hurt) { h.must(os.RemoveAll(h.path(bagA))) }, bagA + ": missing"},
		{"bag renamed", func(h hurt) { h.must(os.Rename(h.path(bagA), h.path("wf-7/other"))) }, bagA + ": missing|wf-7/other: unlisted"},
		{"bag copied", func(h hurt) { h.must(os.CopyFS(h.path("wf-7/copy"), os.DirFS(h.path(bagA)))) }, "wf-7/copy: unlisted"},
		{"bag by a file", func(h hurt) {
			h.must(os.RemoveAll(h.path(bagA)))
			h.write(bagA, "x")
		}, bagA + ": not-a-folder"},
		{"bags swapped", func(h hurt) {
			h.must(os.Rename(h.path(bagA), h.path("wf-7/x")))
			h.must(os.Rename(h.path(bagB), h.path(bagA)))
			h.must(os.Rename(h.path("wf-7/x"), h.path(bagB)))
		}, bagA + "/tagmanifest-sha256.txt: not-as-sealed|" + bagB + "/tagmanifest-sha512.txt: not-as-sealed|" + bagA + "/bag-info.txt: bad-info"},
		{"stray at the top", func(h hurt) { h.write("notes.txt", "x") }, "notes.txt: stray"},
		{"stray beside the bags", func(h hurt) { h.write("wf-7/.hidden", "x") }, "wf-7/.hidden: stray"},
		{"folder at the top", func(h hurt) { h.write("wf-8/2026-01-01-x/bagit.txt", bagitText) }, "wf-8/ledger.jsonl: missing|wf-8/2026-01-01-x: unlisted"},
		{"marker changed", func(h hurt) { h.write(markerName, markerText+" ") }, "taut.archive: marker"},
		{"marker in CRLF", func(h hurt) { h.write(markerName, strings.ReplaceAll(markerText, "\n", "\r\n")) }, "taut.archive: marker"},
		{"marker of later times", func(h hurt) { h.write(markerName, "taut archive, layout 2\n") }, "taut.archive: layout"},
		{"ledger removed", func(h hurt) { h.must(os.Remove(h.path("wf-7/ledger.jsonl"))) }, "wf-7/ledger.jsonl: missing|" + bagA + ": unlisted"},
		{"ledger emptied", func(h hurt) { h.write("wf-7/ledger.jsonl", "") }, "wf-7/ledger.jsonl: empty"},
		{"ledger cut off", func(h hurt) {
			text := h.read("wf-7/ledger.jsonl")
			h.write("wf-7/ledger.jsonl", text[:len(text)-1])
		}, "wf-7/ledger.jsonl:2: bad-line"},
		{"lines swapped", func(h hurt) { h.lines(func(l []string) []string { return []string{l[1], l[0]} }) }, "wf-7/ledger.jsonl:1: broken-chain"},
		{"line twice", func(h hurt) { h.lines(func(l []string) []string { return []string{l[0], l[1], l[1]} }) }, "wf-7/ledger.jsonl:3: listed-twice|wf-7/ledger.jsonl:3: broken-chain"},
		{"first line removed", func(h hurt) { h.lines(func(l []string) []string { return l[1:] }) }, "wf-7/ledger.jsonl:1: broken-chain|" + bagA + ": unlisted"},
		{"last line removed", func(h hurt) { h.lines(func(l []string) []string { return l[:1] }) }, bagB + ": unlisted"},
		{"line ends of another system", func(h hurt) {
			h.lines(func(l []string) []string { return []string{strings.ReplaceAll(l[0], "\n", "\r\n"), l[1]} })
		}, "wf-7/ledger.jsonl:1: bad-line"},
		{"spaces in a line", func(h hurt) {
			h.lines(func(l []string) []string { return []string{strings.Replace(l[0], ",", ", ", 1), l[1]} })
		}, "wf-7/ledger.jsonl:1: bad-line"},
		{"manifest in CRLF", func(h hurt) {
			h.write(bagA+"/manifest-sha256.txt", strings.ReplaceAll(h.read(bagA+"/manifest-sha256.txt"), "\n", "\r\n"))
		}, bagA + "/manifest-sha256.txt: line-ends|" + bagA + "/manifest-sha256.txt: changed"},
		{"manifest emptied", func(h hurt) { h.write(bagA+"/manifest-sha512.txt", "") }, bagA + "/manifest-sha512.txt: bad-manifest"},
		{"manifest removed", func(h hurt) { h.must(os.Remove(h.path(bagA + "/tagmanifest-sha512.txt"))) }, bagA + "/tagmanifest-sha512.txt: missing"},
		{"path upwards", func(h hurt) {
			h.write(bagA+"/manifest-sha256.txt", h.read(bagA+"/manifest-sha256.txt")+zeroSum+"  data/../../../../secret\n")
		}, bagA + "/manifest-sha256.txt:10: path-outside"},
		{"huge manifest", func(h hurt) {
			h.write(bagA+"/manifest-sha256.txt", "")
			h.must(os.Truncate(h.path(bagA+"/manifest-sha256.txt"), longestManifest+1))
		}, bagA + "/manifest-sha256.txt: too-large"},
		{"link to a file outside", func(h hurt) {
			h.must(os.Remove(h.path(bagA + "/data/source/wf/long.csv")))
			writeFiles(h.t, h.dir+"-outside", map[string]string{"long.csv": tiny["wf/long.csv"]})
			h.must(os.Symlink(h.dir+"-outside/long.csv", h.path(bagA+"/data/source/wf/long.csv")))
		}, bagA + "/data/source/wf/long.csv: not-a-file|" + bagA + ": not-run"},
		{"link to a file within", func(h hurt) {
			h.must(os.Remove(h.path(bagB + "/data/source/wf/bench.yaml")))
			h.must(os.Symlink("../../../../2026-03-12-a-wires-length/data/source/wf/bench.yaml", h.path(bagB+"/data/source/wf/bench.yaml")))
		}, bagB + "/data/source/wf/bench.yaml: not-a-file|" + bagB + ": not-run"},
		{"source by a link", func(h hurt) {
			h.must(os.RemoveAll(h.path(bagA + "/data/source")))
			h.must(os.Symlink("../../2026-03-19-a-wires-length-again/data/source", h.path(bagA+"/data/source")))
		}, bagA + "/data/source: not-a-file|" + bagA + ": not-run"},
		{"bag by a link", func(h hurt) {
			h.must(os.Rename(h.path(bagA), h.dir+"-bag"))
			h.must(os.Symlink(h.dir+"-bag", h.path(bagA)))
		}, bagA + ": not-a-folder"},
		{"apparatus by a link", func(h hurt) {
			h.must(os.Rename(h.path("wf-7"), h.dir+"-wf"))
			h.must(os.Symlink(h.dir+"-wf", h.path("wf-7")))
		}, "wf-7: stray"},
		{"foreign leftovers", func(h hurt) { h.write(".sealing-x", "x") }, ".sealing-x: stray"},
		{"bad journal", func(h hurt) { h.write(journalName, `{"folders":["../x"],"bags":[],"ledgers":[]}`) }, journalName + ": bad-journal"},
		{"name of other bytes", func(h hurt) { h.write(bagA+"/data/\xff\n", "x") }, bagA + "/data/\xff\n: stray"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := hurt{t, copyTree(t, sealed)}
			c.do(h)
			r := verified(t, h.dir, VerifyOptions{})
			got := findings(r)
			if c.wants == "" && got != "" {
				t.Error(got)
			}
			for _, want := range strings.Split(c.wants, "|") {
				at, slug, _ := strings.Cut(want, ": ")
				if want != "" && !strings.Contains(got, at+": error: "+slug+": ") {
					t.Errorf("no finding %q in\n%s", want, got)
				}
			}
		})
	}
}
