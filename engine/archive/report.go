package archive

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/taut/engine/finding"
)

// Report is what a verification found.
type Report struct {
	Taut     string           `json:"taut"`            // the version that verified
	Quick    bool             `json:"quick,omitempty"` // no record was run again
	Part     string           `json:"part,omitempty"`  // "2/8": what is told is of that part
	Archives []*ArchiveReport `json:"archives"`
}

// ArchiveReport is what was found in one archive.
type ArchiveReport struct {
	Path string `json:"path"` // as it was given
	// State stands for the marker and the heads of all ledgers: equal states
	// are of equal archives, if nothing is found to be wrong.
	State string  `json:"state"`
	Units []*Unit `json:"units"` // sorted by path
}

// Unit is what is verified in one piece: the archive's own folder, the folder
// of an apparatus with its ledger, or a bag. Which part it belongs to depends
// on its path alone.
type Unit struct {
	Path     string        `json:"path"` // ".", APPARATUS or APPARATUS/BAG
	Ledger   *LedgerReport `json:"ledger,omitempty"`
	Bag      *BagReport    `json:"bag,omitempty"`
	Findings []*Finding    `json:"findings,omitempty"`
}

// LedgerReport tells of the ledger of an apparatus.
type LedgerReport struct {
	Identity string `json:"identity"`
	Lines    int    `json:"lines"`
	Head     string `json:"head"`
	Signed   int    `json:"signed"`
	// Keys are the fingerprints of the public keys that the lines name, which
	// of itself says nothing about whose they are.
	Keys []string `json:"keys,omitempty"`
}

// BagReport tells of a bag.
type BagReport struct {
	Title   string   `json:"title"`
	Status  Status   `json:"status"`
	Taut    string   `json:"taut"` // the version that sealed it
	Amends  string   `json:"amends,omitempty"`
	Changes []Change `json:"changes,omitempty"`
	More    int      `json:"more,omitempty"` // changes that are not listed
}

// jsonFinding is a Finding in JSON.
type jsonFinding struct {
	Path     string `json:"path"`
	Line     int    `json:"line,omitempty"`
	Severity string `json:"severity"`
	Slug     string `json:"slug"`
	Message  string `json:"message"`
	Hint     string `json:"hint,omitempty"`
}

// MarshalJSON implements json.Marshaler.
func (f *Finding) MarshalJSON() ([]byte, error) {
	return json.Marshal(jsonFinding{f.Path, f.Line, f.Severity.String(), f.Slug, f.Message, f.Hint})
}

// UnmarshalJSON implements json.Unmarshaler.
func (f *Finding) UnmarshalJSON(text []byte) error {
	var j jsonFinding
	if err := json.Unmarshal(text, &j); err != nil {
		return err
	}
	s, ok := finding.ParseSeverity(j.Severity)
	if !ok {
		return fmt.Errorf("there is no severity %q", j.Severity)
	}
	*f = Finding{j.Path, j.Line, s, j.Slug, j.Message, j.Hint}
	return nil
}

// Sum counts what a report tells.
type Sum struct {
	Bags, Identical, Rounding, Changed, Unchecked int
	Errors, Cautions, Notes, Unreadable           int // findings; the unreadable ones are among the errors
}

// Sum counts.
func (r *Report) Sum() Sum {
	var s Sum
	for _, a := range r.Archives {
		for _, u := range a.Units {
			s.add(u)
		}
	}
	return s
}

func (s *Sum) add(u *Unit) {
	if u.Bag != nil {
		s.Bags++
		switch u.Bag.Status {
		case Identical:
			s.Identical++
		case Rounding:
			s.Rounding++
		case Changed:
			s.Changed++
		default:
			s.Unchecked++
		}
	}
	for _, f := range u.Findings {
		switch f.Severity {
		case finding.Error:
			s.Errors++
			if f.Slug == slugUnreadable {
				s.Unreadable++
			}
		case finding.Caution:
			s.Cautions++
		default:
			s.Notes++
		}
	}
}

// ParseReport reads a report in JSON.
func ParseReport(text []byte) (*Report, error) {
	r := &Report{}
	if err := json.Unmarshal(text, r); err != nil {
		return nil, fmt.Errorf("this is no report of `taut verify --format json`: %w", err)
	}
	if r.Taut == "" || len(r.Archives) == 0 {
		return nil, errors.New("this is no report of `taut verify --format json`")
	}
	return r, nil
}

// Merge joins the reports of all parts to that of the whole. It is an error if
// a part is missing or there twice, or if the parts do not belong together.
func Merge(parts []*Report) (*Report, error) {
	if len(parts) == 0 {
		return nil, errors.New("there is no report to merge")
	}
	first := parts[0]
	out := &Report{Taut: first.Taut, Quick: first.Quick}
	for _, a := range first.Archives {
		out.Archives = append(out.Archives, &ArchiveReport{Path: a.Path, State: a.State, Units: []*Unit{}})
	}
	seen := map[int]bool{}
	total := 0
	for _, p := range parts {
		k, n, err := ParsePart(p.Part)
		switch {
		case p.Part == "" || err != nil:
			return nil, errors.New("one of the reports is not that of a part: it was not made with `--part`")
		case total != 0 && n != total:
			return nil, fmt.Errorf("the reports are of different splits, into %d parts and into %d", total, n)
		case seen[k]:
			return nil, fmt.Errorf("part %s is there twice", p.Part)
		case p.Taut != out.Taut || p.Quick != out.Quick:
			return nil, fmt.Errorf("part %s was not verified in the same way as part %s: by another version, or with `--quick`", p.Part, first.Part)
		}
		total, seen[k] = n, true
		if err := out.join(p); err != nil {
			return nil, fmt.Errorf("part %s: %w", p.Part, err)
		}
	}
	var missing []string
	for k := 1; k <= total && len(missing) < 10; k++ {
		if !seen[k] {
			missing = append(missing, strconv.Itoa(k))
		}
	}
	if len(missing) > 0 {
		return nil, fmt.Errorf("of %d parts these are missing: %s", total, strings.Join(missing, ", "))
	}
	for _, a := range out.Archives {
		slices.SortFunc(a.Units, byPath)
	}
	return out, nil
}

func byPath(a, b *Unit) int { return strings.Compare(a.Path, b.Path) }

func (r *Report) join(p *Report) error {
	if len(p.Archives) != len(r.Archives) {
		return errors.New("it is of other archives")
	}
	for i, a := range p.Archives {
		switch {
		case a.Path != r.Archives[i].Path:
			return fmt.Errorf("it is of `%s`, not of `%s`", a.Path, r.Archives[i].Path)
		case a.State != r.Archives[i].State:
			return fmt.Errorf("`%s` was not the same as when the others were verified; verify all parts again", a.Path)
		}
		r.Archives[i].Units = append(r.Archives[i].Units, a.Units...)
	}
	return nil
}

// ParsePart reads "K/N", the Kth of N parts.
func ParsePart(text string) (k, n int, err error) {
	a, b, ok := strings.Cut(text, "/")
	k, err = strconv.Atoi(a)
	n, err2 := strconv.Atoi(b)
	if !ok || err != nil || err2 != nil || k < 1 || n < k || n > mostParts {
		return 0, 0, fmt.Errorf("it is K/N, the Kth of N parts, such as 2/8; N is %d at most", mostParts)
	}
	return k, n, nil
}

const mostParts = 100000
