package build

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"example.org/taut/engine/finding"
)

// Keep is a folder that tells of every page from what it was made, so that a
// page that would come out as it is need not be made again. What it says is
// held against the files themselves, by their sums: a Keep that is wrong, torn
// or missing costs time and never a page. Several builds may use it at once.
type Keep struct {
	dir string
	// engine is the sum of whatever makes the pages beside the files of the
	// record: the program, its themes and its options.
	engine func() (string, error)
}

// NewKeep returns a Keep in a folder, which need not be there. Two engines that
// could make other bytes from the same record must differ in what engine
// returns, which is asked once it is needed, and by several goroutines at once;
// nothing is kept where it fails.
func NewKeep(dir string, engine func() (string, error)) *Keep { return &Keep{dir, engine} }

// kept is what is known of one page.
type kept struct {
	Page    string     `json:"page"`   // where it is, absolute
	Record  string     `json:"record"` // likewise
	Results string     `json:"results,omitempty"`
	Engine  string     `json:"engine"`
	View    string     `json:"view"`
	Marked  bool       `json:"marked"` // the root holds a Marker
	Dir     string     `json:"dir"`    // of the record below the root
	Asked   []question `json:"asked"`
	PageSum string     `json:"page_sum"`
	// ResultsSum is the sum of the results file, "" where none is written.
	ResultsSum string     `json:"results_sum,omitempty"`
	Findings   []Reported `json:"findings,omitempty"`
}

// Reported is a finding as it is printed, by finding.WriteText.
type Reported struct {
	Severity finding.Severity `json:"severity"`
	Text     string           `json:"text"`
}

// path is where an entry for a page is: one of 256 folders, so that none grows
// too large.
func (k *Keep) path(page string) string {
	name := sumOf([]byte(page))
	return filepath.Join(k.dir, name[:2], name[2:]+".json")
}

// longestEntry bounds what is read of an entry, in bytes.
const longestEntry = 8 << 20

// get returns what is known of a page; nil for nothing.
func (k *Keep) get(page string) *kept {
	e := readEntry(k.path(page))
	if e == nil || e.Page != page {
		return nil
	}
	return e
}

// readEntry returns an entry that is whole: its first line is the sum of the
// rest.
func readEntry(path string) *kept {
	f, err := os.Open(path)
	if err != nil {
		return nil
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, longestEntry))
	if err != nil {
		return nil
	}
	sum, rest, ok := bytes.Cut(text, []byte("\n"))
	if !ok || string(sum) != sumOf(rest) {
		return nil
	}
	e := &kept{}
	if json.Unmarshal(rest, e) != nil {
		return nil
	}
	return e
}

// put notes what is known of a page. That it can't be noted is no fault: the
// page is then made again.
func (k *Keep) put(e *kept) {
	text, err := json.Marshal(e)
	if err != nil {
		return
	}
	text = append([]byte(sumOf(text)+"\n"), text...)
	path := k.path(e.Page)
	if os.MkdirAll(filepath.Dir(path), 0o700) != nil {
		return
	}
	// Its own sum tells whether it is whole: it need not reach the disk at once.
	_ = replace(path, text, false)
}

// tidy forgets, in that part of the folder where the entry of a page is, the
// pages that are no more.
func (k *Keep) tidy(page string) {
	dir := filepath.Dir(k.path(page))
	entries, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	for _, f := range entries {
		path := filepath.Join(dir, f.Name())
		if e := readEntry(path); e != nil {
			if _, err := os.Lstat(e.Page); errors.Is(err, fs.ErrNotExist) {
				os.Remove(path)
			}
		}
	}
}

// sumOfFile is the SHA-256 sum of an ordinary file, "" where there is none.
func sumOfFile(path string) string {
	info, err := os.Stat(path)
	if err != nil || !info.Mode().IsRegular() {
		return ""
	}
	f, err := os.Open(path)
	if err != nil {
		return ""
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return ""
	}
	return hex.EncodeToString(h.Sum(nil))
}
