package archive

import (
	"context"
	"crypto/ed25519"
	"fmt"
	"hash/fnv"
	"runtime"
	"slices"
	"strings"

	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
)

// VerifyOptions say how an archive is verified.
type VerifyOptions struct {
	Build build.Options // its Theme, View and Trials are not looked at
	// Part and Parts choose the Kth of N parts; 0 for the whole.
	Part, Parts int
	Quick       bool // run no record again
	// Public are the keys that count. Where there are any, every ledger must
	// end with a line that one of them has signed.
	Public []ed25519.PublicKey
	// Heads are sums of lines that were noted elsewhere, by the folder of the
	// apparatus: in full, or at least their first shortestHead digits.
	Heads   map[string]string
	Workers int // bags at once; 0 for one on each processor; changes nothing of the report
	// Progress is told how many units of how many are done; nil for no one.
	Progress func(done, total int)
}

// Verify verifies the archive in a folder: every byte against the manifests,
// the manifests against the ledgers, the chains and signatures of these, and
// that there is nothing else; then it runs every record again from its bag
// alone and compares. What is wrong is in the report. The error is a *Finding
// where the folder can't be read or is no archive, or that of ctx.
func Verify(ctx context.Context, dir string, o VerifyOptions) (*ArchiveReport, error) {
	a, err := Open(dir)
	if err != nil {
		return nil, err
	}
	defer a.Close()
	v := newVerifier(a, o)
	out := &ArchiveReport{State: v.state(), Units: []*Unit{}}
	units := v.units()
	done := build.InOrder(ctx, len(units), v.o.Workers,
		func(i int) *Unit { return units[i]() },
		func(i int, u *Unit) bool {
			out.Units = append(out.Units, u)
			if o.Progress != nil {
				o.Progress(i+1, len(units))
			}
			return true
		})
	if done < len(units) {
		return nil, context.Cause(ctx)
	}
	slices.SortFunc(out.Units, byPath)
	return out, nil
}

// verifier is one call of Verify.
type verifier struct {
	a       *Archive
	o       VerifyOptions
	again   *rebuilder
	journal *journal // of an interrupted sealing; nil for none
	bad     *Finding // the journal can't be read
}

func newVerifier(a *Archive, o VerifyOptions) *verifier {
	v := &verifier{a: a, o: o}
	if v.o.Workers < 1 {
		v.o.Workers = runtime.GOMAXPROCS(0)
	}
	v.o.Build.Workers, v.o.Build.Trials = 1, nil
	if v.o.Workers == 1 {
		v.o.Build.Workers = 0
	}
	v.again = newRebuilder(a.root, v.o.Build)
	j, err := readJournal(a.root)
	if err != nil {
		v.bad = err.(*Finding)
	}
	v.journal = j
	return v
}

func (v *verifier) apparatus(folder string) *Apparatus {
	for _, p := range v.a.apparatus {
		if p.Folder == folder {
			return p
		}
	}
	return nil
}

func (v *verifier) folders() []string {
	var out []string
	for _, p := range v.a.apparatus {
		out = append(out, p.Folder)
	}
	return out
}

// state stands for the archive as a whole.
func (v *verifier) state() string {
	var b strings.Builder
	for _, p := range v.a.apparatus {
		fmt.Fprintf(&b, "%s %d %s\n", p.Folder, len(p.Entries), p.Head)
	}
	return sumOf([]byte(b.String()))
}

// units are the pieces of work of the part.
func (v *verifier) units() []func() *Unit {
	var out []func() *Unit
	add := func(path string, do func() *Unit) {
		if v.o.Parts == 0 || partOf(path, v.o.Parts) == v.o.Part {
			out = append(out, do)
		}
	}
	add(".", v.top)
	for _, p := range v.a.apparatus {
		add(p.Folder, func() *Unit { return v.ledger(p) })
		for _, e := range p.Entries {
			add(e.Path(), func() *Unit { return v.bag(e) })
		}
	}
	return out
}

// partOf is the part, from 1, to which a unit belongs. It depends on nothing
// but the unit's path, so that it stays when others come.
func partOf(path string, parts int) int {
	h := fnv.New64a()
	h.Write([]byte(path))
	// The low bits of the sum alone are not well mixed for short texts.
	x := h.Sum64()
	x ^= x >> 33
	x *= 0xff51afd7ed558ccd
	x ^= x >> 33
	return int(x%uint64(parts)) + 1
}

// top verifies the archive's own folder.
func (v *verifier) top() *Unit {
	u := &Unit{Path: "."}
	for _, f := range v.a.findings {
		if f.Path == markerName {
			u.Findings = append(u.Findings, f)
		}
	}
	inside, err := v.a.list(".")
	if err != nil {
		u.Findings = append(u.Findings, unreadable(".", err))
	}
	v.missingApparatus(u)
	for _, e := range inside {
		switch name := e.Name(); {
		case name == markerName:
		case name == workDir && e.IsDir(), name == newMarker && e.Type().IsRegular():
			u.Findings = append(u.Findings, v.leftOver(name))
		case !e.IsDir() || !isSlug(name):
			u.Findings = append(u.Findings, stray(name))
		}
	}
	return u
}

// missingApparatus tells of heads that were noted of apparatus that are not
// there.
func (v *verifier) missingApparatus(u *Unit) {
	var noted []string
	for folder := range v.o.Heads {
		noted = append(noted, folder)
	}
	slices.Sort(noted)
	for _, folder := range noted {
		if v.apparatus(folder) == nil {
			u.Findings = append(u.Findings, fault(folder, "missing", "a head was noted of this apparatus, but the archive does not have it",
				firstOf(finding.DidYouMean(folder, v.folders()), "it was removed; copy it back from another copy of the archive")))
		}
	}
}

// leftOver is what is said of an interrupted sealing: nothing is wrong.
func (v *verifier) leftOver(name string) *Finding {
	if v.bad != nil && name == workDir {
		return v.bad
	}
	f := &Finding{Path: name, Severity: finding.Note, Slug: "interrupted", Message: "a sealing was interrupted, or is under way; the archive is as before it"}
	f.Hint = "the next `taut seal` clears this away"
	if v.journal != nil && name == workDir {
		f.Message = "a sealing was interrupted while it moved bags into their places, or is doing so"
		f.Hint = "the next `taut seal` finishes it"
	}
	return f
}

func stray(path string) *Finding {
	return fault(path, "stray", "this was not sealed and does not belong in the archive", "take it out")
}

// ledger verifies the folder of an apparatus: its ledger, and that it holds
// nothing else than bags that the ledger lists.
func (v *verifier) ledger(p *Apparatus) *Unit {
	u := &Unit{Path: p.Folder, Ledger: &LedgerReport{Identity: p.Identity, Lines: len(p.Entries), Head: p.Head}}
	for _, f := range v.a.findings {
		if f.Path == p.Folder+"/"+ledgerName {
			u.Findings = append(u.Findings, f)
		}
	}
	v.signatures(p, u)
	v.head(p, u)
	v.others(p, u)
	u.cap()
	return u
}

// others looks for what no line of the ledger lists.
func (v *verifier) others(p *Apparatus, u *Unit) {
	listed := map[string]bool{}
	for _, e := range p.Entries {
		listed[e.Bag] = true
	}
	inside, err := v.a.list(p.Folder)
	if err != nil {
		u.Findings = append(u.Findings, unreadable(p.Folder, err))
	}
	for _, e := range inside {
		path := p.Folder + "/" + e.Name()
		switch {
		case e.Name() == ledgerName, listed[e.Name()]:
		case v.journal != nil && slices.Contains(v.journal.Bags, path):
		case e.IsDir() && isSlug(e.Name()):
			u.Findings = append(u.Findings, fault(path, "unlisted", "no line of the ledger lists this folder",
				"lines were removed from the ledger, or the folder was put here by hand; copy the ledger back or take the folder out"))
		default:
			u.Findings = append(u.Findings, stray(path))
		}
	}
}

// signatures checks those of the lines. A line that is signed vouches for all
// before it, since it names their sums.
func (v *verifier) signatures(p *Apparatus, u *Unit) {
	complain := func(e *Entry, slug, message, hint string) {
		f := fault(p.Folder+"/"+ledgerName, slug, message, hint)
		f.Line = e.N
		u.Findings = append(u.Findings, f)
	}
	vouched := 0 // the entries before this one
	for i, e := range p.Entries {
		key := e.Key()
		if key == nil {
			continue
		}
		print := Fingerprint(key)
		if !slices.Contains(u.Ledger.Keys, print) {
			u.Ledger.Keys = append(u.Ledger.Keys, print)
		}
		u.Ledger.Signed++
		switch {
		case !e.verifySignature():
			complain(e, "bad-signature", "the line was not signed as it stands by the key that it names, "+print, "the line was changed by someone without the key")
		case len(v.o.Public) > 0 && !slices.ContainsFunc(v.o.Public, func(k ed25519.PublicKey) bool { return k.Equal(key) }):
			complain(e, "foreign-key", "the line is signed by a key that is none of those given, "+print, "give the key that it should be with `--public`, or find out who sealed this")
		default:
			vouched = i + 1
		}
	}
	if len(v.o.Public) > 0 && vouched < len(p.Entries) {
		complain(p.Entries[vouched], "unsigned", fmt.Sprintf("from here on no line is signed by a key that was given: %s", counted(len(p.Entries)-vouched, "line")),
			"the lines may be anyone's; seal with `--key`")
	}
}

// shortestHead is how many digits of a noted head are enough.
const shortestHead = 16

// ParseHead reads APPARATUS=HASH.
func ParseHead(text string) (folder, hash string, err error) {
	folder, hash, ok := strings.Cut(text, "=")
	hash = strings.ToLower(hash)
	if !ok || !isSlug(folder) || len(hash) < shortestHead || len(hash) > len(zeroSum) || strings.Trim(hash, "0123456789abcdef") != "" {
		return "", "", fmt.Errorf("it is APPARATUS=HASH, as `taut seal` printed them; of the hash, %d digits or more", shortestHead)
	}
	return folder, hash, nil
}

// head looks for a line that was noted elsewhere.
func (v *verifier) head(p *Apparatus, u *Unit) {
	noted := v.o.Heads[p.Folder]
	if noted == "" {
		return
	}
	for _, e := range p.Entries {
		if strings.HasPrefix(e.Hash, noted) {
			return
		}
	}
	u.Findings = append(u.Findings, fault(p.Folder+"/"+ledgerName, "head-missing", fmt.Sprintf("no line has the noted sum %s", noted),
		"lines were taken off the end of the ledger, or all of it was made anew; copy the archive back"))
}

// cap leaves so many findings that they can be read, and says how many more
// there are.
func (u *Unit) cap() {
	if n := len(u.Findings) - mostOfOne; n > 0 {
		u.Findings = append(u.Findings[:mostOfOne:mostOfOne], fault(u.Path, "more", fmt.Sprintf("and %d more findings here", n), ""))
	}
}
