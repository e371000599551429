package archive

import (
	"errors"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"example.org/taut/engine/build"
)

// refused seals one record and returns the slug of why it was refused, "" if
// it was not.
func refused(t *testing.T, archive string, o Options, record string) (slug string, s *Sealing) {
	t.Helper()
	_, err := Seal(archive, []string{record}, o, func(x *Sealing) { s = x })
	if err != nil {
		t.Fatal(err)
	}
	var f *Finding
	if errors.As(s.Err, &f) {
		return f.Slug, s
	}
	if s.Err != nil {
		return s.Err.Error(), s
	}
	return "", s
}

func plainRecord(title, author, date, text string) string {
	return "---\ntitle: " + title + "\nauthor: " + author + "\ndate: " + date + "\n---\n\n" + text + "\n"
}

// TestSameAgain: what was sealed is not sealed again, even by another key or on
// another day, and not a byte of the archive changes.
func TestSameAgain(t *testing.T) {
	dir := t.TempDir()
	writeFiles(t, dir, tiny)
	archive := filepath.Join(dir, "archive")
	sealTo(t, archive, sealing(), filepath.Join(dir, "wf/record.md"))
	before := tree(t, archive)
	o := sealing()
	o.Key, o.Sealed = testKey, "2027-01-01"
	// The same files elsewhere are the same.
	elsewhere := t.TempDir()
	writeFiles(t, elsewhere, tiny)
	for _, at := range []string{dir, elsewhere} {
		if s := sealTo(t, archive, o, filepath.Join(at, "wf/record.md"))[0]; s.Outcome != Already || s.Bag != bagA {
			t.Errorf("%+v", s)
		}
	}
	if !maps.Equal(before, tree(t, archive)) {
		t.Error("the archive was changed")
	}
	// Another theme or version is another content.
	o.Theme = nil
	if s := sealTo(t, archive, o, filepath.Join(dir, "wf/record.md"))[0]; s.Outcome != Sealed || s.Amends != bagA {
		t.Errorf("another theme: %+v", s)
	}
	o.Build.Version = "0.2.0"
	if s := sealTo(t, archive, o, filepath.Join(dir, "wf/record.md"))[0]; s.Outcome != Sealed || s.Bag != bagA+"-r3" || s.Amends != bagA+"-r2" {
		t.Errorf("another version: %+v", s)
	}
}

// TestSameBytes: two sealings of the same records give the same bytes.
func TestSameBytes(t *testing.T) {
	var before map[string]string
	for range 2 {
		dir := t.TempDir()
		writeFiles(t, dir, tiny)
		archive := filepath.Join(dir, "deep/er/archive")
		o := sealing()
		o.Key = testKey
		sealTo(t, archive, o, filepath.Join(dir, "wf/record.md"), filepath.Join(dir, "wf/second.md"))
		now := tree(t, archive)
		for name, text := range now {
			if strings.Contains(text, dir) {
				t.Errorf("%s names the folder in which it was made", name)
			}
		}
		if before != nil && !maps.Equal(before, now) {
			t.Error("other bytes")
		}
		before = now
	}
}

// TestAmends: which bag a changed record amends.
func TestAmends(t *testing.T) {
	const ann, bob = "Ann (invented)", "Bob (invented)"
	for _, c := range []struct {
		name        string
		marked      bool
		first, then string
		amends      string // as the option
		want        string // the new bag and what it amends, or the slug of the refusal
	}{
		{"author, title and date", false, plainRecord("A", ann, "2026-01-02", "x"), plainRecord("A", ann, "2026-01-02", "y"), "", "2026-01-02-a-r2 2026-01-02-a"},
		{"another author", false, plainRecord("A", ann, "2026-01-02", "x"), plainRecord("A", bob, "2026-01-02", "y"), "", "2026-01-02-a-2 "},
		{"no author", false, plainRecord("A", "", "2026-01-02", "x"), plainRecord("A", "", "2026-01-02", "y"), "", "amends-unclear"},
		{"no author, as told", false, plainRecord("A", "", "2026-01-02", "x"), plainRecord("A", "", "2026-01-02", "y"), "2026-01-02-a", "2026-01-02-a-r2 2026-01-02-a"},
		{"no author, as told by path", false, plainRecord("A", "", "2026-01-02", "x"), plainRecord("A", "", "2026-01-02", "y"), "no-apparatus/2026-01-02-a", "2026-01-02-a-r2 2026-01-02-a"},
		{"no author, a record of its own", false, plainRecord("A", "", "2026-01-02", "x"), plainRecord("A", "", "2026-01-02", "y"), AmendsNone, "2026-01-02-a-2 "},
		{"another day", false, plainRecord("A", ann, "2026-01-02", "x"), plainRecord("A", ann, "2026-01-09", "y"), "", "2026-01-09-a "},
		{"another title", false, plainRecord("A", ann, "2026-01-02", "x"), plainRecord("B", ann, "2026-01-02", "y"), "", "2026-01-02-b "},
		{"marked, another title", true, plainRecord("A", "", "2026-01-02", "x"), plainRecord("B", "", "2026-01-02", "y"), "", "2026-01-02-a-r2 2026-01-02-a"},
		{"marked, another day", true, plainRecord("A", ann, "2026-01-02", "x"), plainRecord("A", ann, "2026-01-09", "y"), "", "amends-unclear"},
		{"marked, day and title", true, plainRecord("A", ann, "2026-01-02", "x"), plainRecord("B", ann, "2026-01-09", "y"), "", "2026-01-09-b "},
		{"no such bag", false, plainRecord("A", ann, "2026-01-02", "x"), plainRecord("A", ann, "2026-01-02", "y"), "2026-01-02-b", "no-such-bag"},
		{"unchanged, as told", false, plainRecord("A", ann, "2026-01-02", "x"), plainRecord("A", ann, "2026-01-02", "x"), "2026-01-02-a", "2026-01-02-a "},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			archive := filepath.Join(dir, "archive")
			if c.marked {
				writeFiles(t, dir, map[string]string{build.Marker: ""})
			}
			seal := func(text string, o Options) (string, *Sealing) {
				writeFiles(t, dir, map[string]string{"record.md": strings.ReplaceAll(text, "author: \n", "")})
				return refused(t, archive, o, filepath.Join(dir, "record.md"))
			}
			seal(c.first, sealing())
			o := sealing()
			o.Amends = c.amends
			got, s := seal(c.then, o)
			if got == "" {
				got = strings.ReplaceAll(s.Bag+" "+s.Amends, noApparatus+"/", "")
			}
			if got != c.want {
				t.Errorf("%q, not %q (%v)", got, c.want, s.Err)
			}
			if f := findings(verified(t, archive, VerifyOptions{})); f != "" {
				t.Error(f)
			}
		})
	}
}

// TestAmendsOnce: a bag is amended by one other; each further version amends
// the last.
func TestAmendsOnce(t *testing.T) {
	dir := t.TempDir()
	archive := filepath.Join(dir, "archive")
	for i, want := range []string{"2026-01-02-a", "2026-01-02-a-r2", "2026-01-02-a-r3"} {
		writeFiles(t, dir, map[string]string{"record.md": plainRecord("A", "Ann", "2026-01-02", strings.Repeat("x", i+1))})
		if s := sealTo(t, archive, sealing(), filepath.Join(dir, "record.md"))[0]; s.Bag != noApparatus+"/"+want {
			t.Errorf("%+v", s)
		}
	}
	writeFiles(t, dir, map[string]string{"record.md": plainRecord("A", "Ann", "2026-01-02", "y")})
	o := sealing()
	o.Amends = "2026-01-02-a"
	if got, s := refused(t, archive, o, filepath.Join(dir, "record.md")); got != "amended-already" {
		t.Errorf("%q, %v", got, s.Err)
	}
	a, err := Open(archive)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	var chain []string
	for e := a.Entry(noApparatus + "/2026-01-02-a"); e != nil; e = a.Entry(e.AmendedBy) {
		chain = append(chain, e.Bag)
	}
	if strings.Join(chain, " ") != "2026-01-02-a 2026-01-02-a-r2 2026-01-02-a-r3" {
		t.Error(chain)
	}
}

// TestOneCall: records that look alike and are sealed together are records of
// their own, each with a name of its own, however many are sealed at a time.
func TestOneCall(t *testing.T) {
	defer func(n int) { chunk = n }(chunk)
	for chunk = range 4 {
		if chunk > 0 {
			oneCall(t)
		}
	}
}

func oneCall(t *testing.T) {
	dir := t.TempDir()
	archive := filepath.Join(dir, "archive")
	var records []string
	for _, n := range []string{"a", "b", "c"} {
		writeFiles(t, dir, map[string]string{n + "/record.md": plainRecord("Same", "Ann", "2026-01-02", n)})
		records = append(records, filepath.Join(dir, n, "record.md"))
	}
	var bags []string
	for _, s := range sealTo(t, archive, sealing(), records...) {
		bags = append(bags, s.Bag+s.Amends)
	}
	if got := strings.Join(bags, " "); got != "no-apparatus/2026-01-02-same no-apparatus/2026-01-02-same-2 no-apparatus/2026-01-02-same-3" {
		t.Error(got)
	}
	for _, s := range sealTo(t, archive, sealing(), records...) {
		if s.Outcome != Already {
			t.Errorf("%+v", s)
		}
	}
	// One of them was changed, and it is told of the others by them.
	writeFiles(t, dir, map[string]string{"c/record.md": plainRecord("Same", "Ann", "2026-01-02", "changed")})
	if s := sealTo(t, archive, sealing(), records...)[2]; s.Outcome != Sealed || s.Bag != "no-apparatus/2026-01-02-same-3-r2" {
		t.Errorf("%+v", s)
	}
}

// TestRefused: what is not sealed, and leaves no trace.
func TestRefused(t *testing.T) {
	dir := t.TempDir()
	archive := filepath.Join(dir, "archive")
	writeFiles(t, dir, map[string]string{
		"good.md":    plainRecord("Good", "Ann", "2026-01-02", "x"),
		"bad.md":     plainRecord("Bad", "Ann", "2026-01-02", "=[nothing]"),
		"undated.md": "---\ntitle: Undated\n---\n\nx\n",
		"method.md":  "---\nmethod: x\n---\n",
	})
	sealTo(t, archive, sealing(), filepath.Join(dir, "good.md"))
	before := tree(t, archive)
	for name, want := range map[string]string{"bad.md": "has-errors", "undated.md": "no-date", "none.md": "there is no file", "method.md": "is a method file"} {
		if got, s := refused(t, archive, sealing(), filepath.Join(dir, name)); !strings.Contains(got, want) {
			t.Errorf("%s: %q, %v", name, got, s.Err)
		}
	}
	if !maps.Equal(before, tree(t, archive)) {
		t.Error("the archive was changed")
	}
	o := sealing()
	o.WithErrors, o.Sealed = true, "2026-02-03"
	for _, s := range sealTo(t, archive, o, filepath.Join(dir, "bad.md"), filepath.Join(dir, "undated.md")) {
		t.Log(s.Bag)
	}
	if f := findings(verified(t, archive, VerifyOptions{})); f != "" {
		t.Error(f)
	}
	if _, there := tree(t, archive)["no-apparatus/2026-02-03-undated/"]; !there {
		t.Error("the date of the sealing is not that of the bag")
	}
}

// TestChangedWhileSealing changes a file between the building of a record and
// the taking of its bytes: that record is refused, another is sealed.
func TestChangedWhileSealing(t *testing.T) {
	for _, how := range []func(path string) error{
		func(p string) error { return os.WriteFile(p, []byte("l / mm @tape\n1\n2\n"), 0o666) },
		os.Remove,
		func(p string) error {
			if err := os.Remove(p); err != nil {
				return err
			}
			return syscall.Mkfifo(p, 0o600)
		},
		func(p string) error {
			if err := os.Remove(p); err != nil {
				return err
			}
			return os.Symlink("/etc/hostname", p)
		},
	} {
		dir := t.TempDir()
		writeFiles(t, dir, tiny)
		archive := filepath.Join(dir, "archive")
		o := sealing()
		o.hooks.reading = func(name string) error {
			if name == "wf/long.csv" {
				return how(filepath.Join(dir, name))
			}
			return nil
		}
		var slugs []string
		if _, err := Seal(archive, []string{filepath.Join(dir, "wf/record.md"), filepath.Join(dir, "wf/second.md")}, o, func(s *Sealing) {
			var f *Finding
			if errors.As(s.Err, &f) {
				slugs = append(slugs, f.Slug)
			} else {
				slugs = append(slugs, s.Bag)
			}
		}); err != nil {
			t.Fatal(err)
		}
		if got := strings.Join(slugs, " "); got != "changed-while-sealing "+bagB {
			t.Error(got)
		}
		if f := findings(verified(t, archive, VerifyOptions{})); f != "" {
			t.Error(f)
		}
	}
}

// TestNoArchive: what is no archive is not sealed into, and nothing is added
// to an archive that is not whole, or while another seals.
func TestNoArchive(t *testing.T) {
	dir := t.TempDir()
	writeFiles(t, dir, tiny)
	writeFiles(t, dir, map[string]string{"full/x": "x", "file": "x"})
	records := []string{filepath.Join(dir, "wf/record.md")}
	o := sealing()
	seal := func(archive string) string {
		_, err := Seal(archive, records, o, func(s *Sealing) { t.Errorf("%+v", s) })
		var f *Finding
		if !errors.As(err, &f) {
			return ""
		}
		return f.Slug
	}
	if got := seal(filepath.Join(dir, "full")); got != "no-archive" {
		t.Error(got)
	}
	if got := seal(filepath.Join(dir, "file")); got != "unwritable" {
		t.Error(got)
	}
	sealed := signedArchive(t)
	h := hurt{t, copyTree(t, sealed)}
	h.lines(func(l []string) []string { return l[1:] })
	if got := seal(h.dir); got != "broken-chain" {
		t.Error(got)
	}
	d, locked, err := openToSeal(sealed, hooks{})
	if err != nil {
		t.Fatal(err)
	}
	if got := seal(sealed); got != "busy" {
		t.Error(got)
	}
	locked.Close()
	d.root.Close()
	// An archive that may not be written.
	o.hooks.step = func(op, name string) error { return &os.PathError{Op: op, Path: name, Err: syscall.EROFS} }
	if got := seal(sealed); got != "unwritable" {
		t.Error(got)
	}
	if f := findings(verified(t, sealed, VerifyOptions{})); f != "" {
		t.Error(f)
	}
}

// TestTwoIdentities: two apparatus whose names would be the same have folders
// of their own.
func TestTwoIdentities(t *testing.T) {
	dir := t.TempDir()
	archive := filepath.Join(dir, "archive")
	var records []string
	for i, identity := range []string{"WF 7", "WF-7", "no apparatus", "Ärger ß 9", "…"} {
		at := string(rune('a' + i))
		writeFiles(t, dir, map[string]string{at + "/record.md": strings.Replace(plainRecord("R", "Ann", "2026-01-02", at), "---\n\n", "apparatus: a.yaml\n---\n\n", 1),
			at + "/a.yaml": "identity: " + identity + "\ninstruments: {}\n"})
		records = append(records, filepath.Join(dir, at, "record.md"))
	}
	writeFiles(t, dir, map[string]string{"z/record.md": plainRecord("R", "Ann", "2026-01-02", "z")})
	records = append(records, filepath.Join(dir, "z/record.md"))
	for range 2 {
		var bags []string
		for _, s := range sealTo(t, archive, sealing(), records...) {
			bags = append(bags, strings.TrimSuffix(s.Bag, "/2026-01-02-r"))
		}
		if got := strings.Join(bags, " "); got != "wf-7 wf-7-2 no-apparatus arger-ss-9 apparatus no-apparatus-2" {
			t.Error(got)
		}
	}
	if f := findings(verified(t, archive, VerifyOptions{})); f != "" {
		t.Error(f)
	}
}

// TestLinkedSource: a link within the root is sealed as the file that it leads
// to; one that leads outside is an error of the record, and nothing from
// outside is sealed.
func TestLinkedSource(t *testing.T) {
	dir := t.TempDir()
	const secret = "s / mm\n1234.5\n"
	writeFiles(t, dir, map[string]string{"out/secret.csv": secret, "in/real.csv": "l / mm\n1\n",
		"in/record.md":  plainRecord("R", "Ann", "2026-01-02", "```data d from=link.csv\n```"),
		"in/outside.md": plainRecord("O", "Ann", "2026-01-02", "```data d from=outside.csv\n```")})
	for link, to := range map[string]string{"in/link.csv": "real.csv", "in/outside.csv": "../out/secret.csv"} {
		if err := os.Symlink(to, filepath.Join(dir, link)); err != nil {
			t.Fatal(err)
		}
	}
	archive := filepath.Join(dir, "archive")
	o := sealing()
	o.WithErrors = true
	sealTo(t, archive, o, filepath.Join(dir, "in/record.md"), filepath.Join(dir, "in/outside.md"))
	for name, text := range tree(t, archive) {
		if strings.Contains(text, "1234.5") {
			t.Errorf("%s holds what is outside", name)
		}
	}
	if f := findings(verified(t, archive, VerifyOptions{})); f != "" {
		t.Error(f)
	}
}

// TestOddNames: file names with all that RFC 8493 2.1.3 speaks of.
func TestOddNames(t *testing.T) {
	dir := t.TempDir()
	archive := filepath.Join(dir, "archive")
	writeFiles(t, dir, map[string]string{build.Marker: "",
		"50% & ü/new\nline\r/record one.md": plainRecord("R", "Ann", "2026-01-02", "```data d from=\"100 %25.csv\"\n```\n"),
		"50% & ü/new\nline\r/100 %25.csv":   "l / mm\n1\n"})
	o := sealing()
	o.WithErrors = true
	s := sealTo(t, archive, o, filepath.Join(dir, "50% & ü/new\nline\r/record one.md"))[0]
	t.Log(s.Findings)
	text := hurt{t, archive}.read(s.Bag + "/manifest-sha256.txt")
	if !strings.Contains(text, "  data/source/50%25 & ü/new%0Aline%0D/record one.md\n") {
		t.Error(text)
	}
	if f := findings(verified(t, archive, VerifyOptions{})); f != "" {
		t.Error(f)
	}
}

// TestResultsDiffer: where the same source, theme and version give other
// numbers than were sealed, sealing again says so and changes nothing.
func TestResultsDiffer(t *testing.T) {
	dir := t.TempDir()
	writeFiles(t, dir, tiny)
	archive, record := filepath.Join(dir, "archive"), filepath.Join(dir, "wf/second.md")
	sealTo(t, archive, sealing(), record)
	if s := sealTo(t, archive, sealing(), record)[0]; s.Outcome != Already || s.Differs {
		t.Errorf("undisturbed: %+v", s)
	}
	hurt{t, archive}.forge(bagB, resultFile, replacing("2.85", "2.86"))
	before := tree(t, archive)
	if s := sealTo(t, archive, sealing(), record)[0]; s.Outcome != Already || !s.Differs {
		t.Errorf("other numbers were sealed: %+v", s)
	}
	if !maps.Equal(before, tree(t, archive)) {
		t.Error("the archive was changed")
	}
}

// TestFolderNames: whatever the identity, its folder can be made on every
// common system. The names of devices are those of Microsoft's "Naming Files,
// Paths, and Namespaces" (from memory).
func TestFolderNames(t *testing.T) {
	for identity, want := range map[string]string{
		"": "no-apparatus", "WF 7": "wf-7", "..": "apparatus", "../../etc/passwd": "etc-passwd", "🔬": "apparatus", "Prüfstand Nº 3": "prufstand-no-3",
		"CON": "apparatus-con", "lpt1": "apparatus-lpt1", "com": "com", "Aux.": "apparatus-aux", "nul 2": "nul-2", `C:\lab`: "c-lab",
		strings.Repeat("é", 300): strings.Repeat("e", longestSlug),
	} {
		if got := folderName(identity); got != want || !isSlug(got) {
			t.Errorf("%q: %q, not %q", identity, got, want)
		}
	}
}
