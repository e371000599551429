package archive

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"example.org/taut/engine/build"
)

// forge edits a file of a bag and makes all manifests, and the ledger, anew, as
// one would who wants nobody to see it. The ledger is left unsigned.
func (h hurt) forge(bag, name string, edit func(string) string) {
	h.t.Helper()
	old := h.read(bag + "/" + name)
	text := edit(old)
	if text == old {
		h.t.Fatal("nothing was edited")
	}
	h.write(bag+"/"+name, text)
	payload := map[string]sums{}
	octets := 0
	for p, text := range tree(h.t, h.path(bag)) {
		if strings.HasPrefix(p, "data/") && !strings.HasSuffix(p, "/") {
			payload[p] = sumsOf([]byte(text))
			octets += len(text)
		}
	}
	info := strings.Split(h.read(bag+"/bag-info.txt"), "\n")
	for i, l := range info {
		if strings.HasPrefix(l, "Payload-Oxum: ") {
			info[i] = fmt.Sprintf("Payload-Oxum: %d.%d", octets, len(payload))
		}
	}
	h.write(bag+"/bag-info.txt", strings.Join(info, "\n"))
	tags := map[string]sums{}
	for _, a := range algorithms {
		p, _ := a.manifests()
		h.write(bag+"/"+p, string(formatManifest(a, payload)))
	}
	listed, _ := tagFiles()
	for _, p := range listed {
		tags[p] = sumsOf([]byte(h.read(bag + "/" + p)))
	}
	for _, a := range algorithms {
		_, p := a.manifests()
		h.write(bag+"/"+p, string(formatManifest(a, tags)))
	}
	h.forgeLedger(bag)
}

func (h hurt) forgeLedger(bag string) {
	h.lines(func(list []string) []string {
		before := zeroSum
		for i, text := range list {
			l := &line{}
			h.must(json.Unmarshal([]byte(text), l))
			if "wf-7/"+l.Bag == bag {
				l.TagSHA256 = algorithms[0].of([]byte(h.read(bag + "/tagmanifest-sha256.txt")))
				l.TagSHA512 = algorithms[1].of([]byte(h.read(bag + "/tagmanifest-sha512.txt")))
				files := map[string]string{}
				for p, text := range tree(h.t, h.path(bag)) {
					if !strings.HasSuffix(p, "/") {
						files[p] = sumOf([]byte(text))
					}
				}
				var r struct{ Taut string }
				h.must(json.Unmarshal([]byte(h.read(bag+"/"+resultFile)), &r))
				l.Content = contentSum(r.Taut, l.Record, files)
			}
			l.Previous, l.PublicKey, l.Signature = before, "", ""
			l.Sum = l.sum()
			list[i] = string(l.encode()) + "\n"
			before = sumOf([]byte(list[i]))
		}
		return list
	})
}

func replacing(from, to string) func(string) string {
	return func(s string) string { return strings.ReplaceAll(s, from, to) }
}

// TestForged: a page or results file that its own data do not give is changed,
// even if all sums and the ledger were made to fit, and so are data that give
// something else than the page says. Only what agrees with itself can't be
// told from within, and then the head or the signature tells.
func TestForged(t *testing.T) {
	sealed := signedArchive(t)
	head := ""
	for _, u := range verified(t, sealed, VerifyOptions{}).Units {
		if u.Ledger != nil {
			head = u.Ledger.Head
		}
	}
	for _, c := range []struct {
		name, file string
		edit       func(string) string
		what       string // of a change
	}{
		{"a number of the page", pageFile, replacing("2.847", "2.857"), "page"},
		{"a word of the page", pageFile, replacing("The wire is", "The rope is"), "page"},
		{"markup of the page", pageFile, replacing("</body>", " </body>"), "page, in its markup"},
		{"no page at all", pageFile, func(string) string { return "<p" }, "page"},
		{"a number of the results", resultFile, replacing(`"value": 2.847`, `"value": 2.857`), "values.L.value"},
		{"a display of the results", resultFile, replacing("(2.847", "(2.857"), "values.L.display"},
		{"the form of the results", resultFile, replacing("\n", "\r\n"), "results.json"},
		{"a column of the results", resultFile, replacing("2.846", "2.836"), "columns.long.l.values[0]"},
		{"a value removed", resultFile, replacing(`"u":`, `"w":`), "values.L.u"},
		{"no results at all", resultFile, func(string) string { return `{"taut":"0.1.0"}` }, "values"},
		{"a reading", "data/source/wf/long.csv", replacing("2846", "2836"), "values.L.value"},
		{"the record", "data/source/wf/record.md", replacing("mean(long.l)", "max(long.l)"), "values.L.value"},
		{"the theme", "data/theme/style.css", replacing("1em", "2em"), "page, in its markup"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := hurt{t, copyTree(t, sealed)}
			h.forge(bagA, c.file, c.edit)
			r := verified(t, h.dir, VerifyOptions{})
			for _, u := range r.Units {
				if u.Path != bagA {
					if len(u.Findings) > 0 {
						t.Errorf("%s: %v", u.Path, u.Findings[0])
					}
					continue
				}
				var all []string
				for _, x := range u.Bag.Changes {
					all = append(all, x.What)
				}
				if u.Bag.Status != Changed || c.what != "" && !strings.Contains("\n"+strings.Join(all, "\n")+"\n", "\n"+c.what+"\n") {
					t.Errorf("%s: %v %v", u.Bag.Status, u.Bag.Changes, u.Findings)
				}
				if len(u.Findings) == 0 {
					t.Error("no finding")
				}
			}
			if got := findings(verified(t, h.dir, VerifyOptions{Quick: true, Heads: map[string]string{"wf-7": head[:20]}})); !strings.Contains(got, "head-missing") {
				t.Errorf("the head does not tell: %s", got)
			}
			public := VerifyOptions{Quick: true}
			public.Public = append(public.Public, (&Entry{line: signedLine()}).Key())
			if got := findings(verified(t, h.dir, public)); !strings.Contains(got, "unsigned") {
				t.Errorf("the signature does not tell: %s", got)
			}
			if got := findings(verified(t, sealed, public)); got != "" {
				t.Error(got)
			}
		})
	}
}

func signedLine() line {
	l := line{}
	l.sign(testKey)
	return l
}

// TestPublic: which keys count, and that lines after the last signed one are
// told of.
func TestPublic(t *testing.T) {
	sealed := signedArchive(t)
	key := (&Entry{line: signedLine()}).Key()
	_, text, err := NewKey()
	if err != nil {
		t.Fatal(err)
	}
	other, err := ParsePublicKey(text)
	if err != nil {
		t.Fatal(err)
	}
	o := VerifyOptions{Quick: true}
	o.Public = append(o.Public, other)
	if got := findings(verified(t, sealed, o)); !strings.Contains(got, "foreign-key") || !strings.Contains(got, "unsigned") {
		t.Error(got)
	}
	o.Public = append(o.Public, key)
	if got := findings(verified(t, sealed, o)); got != "" {
		t.Error(got)
	}
	dir := t.TempDir()
	writeFiles(t, dir, tiny)
	writeFiles(t, dir, map[string]string{"wf/third.md": strings.ReplaceAll(tiny["wf/second.md"], "03-19", "03-26")})
	sealTo(t, sealed, sealing(), filepath.Join(dir, "wf/third.md"))
	if got := findings(verified(t, sealed, o)); !strings.Contains(got, "wf-7/ledger.jsonl:3: error: unsigned: from here on no line is signed by a key that was given: 1 line") {
		t.Error(got)
	}
}

// TestHeads: a head that was noted is found again however the ledger has grown;
// lines that were taken off the end are not.
func TestHeads(t *testing.T) {
	sealed := signedArchive(t)
	a, err := Open(sealed)
	if err != nil {
		t.Fatal(err)
	}
	p := a.Apparatus()[0]
	a.Close()
	for _, e := range p.Entries {
		if got := findings(verified(t, sealed, VerifyOptions{Quick: true, Heads: map[string]string{"wf-7": e.Hash}})); got != "" {
			t.Error(got)
		}
	}
	h := hurt{t, copyTree(t, sealed)}
	h.lines(func(l []string) []string { return l[:1] })
	h.must(os.RemoveAll(h.path(bagB)))
	if got := findings(verified(t, h.dir, VerifyOptions{})); got != "" {
		t.Errorf("this is not to be seen from within: %s", got)
	}
	if got := findings(verified(t, h.dir, VerifyOptions{Heads: map[string]string{"wf-7": p.Head}})); !strings.Contains(got, "head-missing") {
		t.Error(got)
	}
	if got := findings(verified(t, h.dir, VerifyOptions{Heads: map[string]string{"wf-8": p.Head}})); !strings.Contains(got, "wf-8: error: missing") {
		t.Error(got)
	}
}

// TestIsolated: a record is run from its bag alone. A marker above the archive
// widens nothing.
func TestIsolated(t *testing.T) {
	dir := t.TempDir()
	writeFiles(t, dir, map[string]string{"a/record.md": plainRecord("R", "Ann", "2026-01-02", "```data d from=d.csv\n```"), "a/d.csv": "l / mm\n1\n"})
	archive := filepath.Join(dir, "archive")
	sealTo(t, archive, sealing(), filepath.Join(dir, "a/record.md"))
	writeFiles(t, dir, map[string]string{build.Marker: ""})
	if err := os.RemoveAll(filepath.Join(dir, "a")); err != nil {
		t.Fatal(err)
	}
	r := verified(t, archive, VerifyOptions{})
	if got := findings(r); got != "" {
		t.Error(got)
	}
	for _, u := range r.Units {
		if u.Bag != nil && u.Bag.Status != Identical {
			t.Errorf("%+v", u.Bag)
		}
	}
}

// TestAnotherVersion: a record that another version sealed is run again; the
// name of the version alone changes nothing, numbers do.
func TestAnotherVersion(t *testing.T) {
	sealed := signedArchive(t)
	r := verified(t, sealed, VerifyOptions{Build: builtIn("0.2.0")})
	if got := findings(r); got != "" {
		t.Error(got)
	}
	h := hurt{t, copyTree(t, sealed)}
	h.forge(bagA, pageFile, replacing("2.847", "2.857"))
	if got := findings(verified(t, h.dir, VerifyOptions{Build: builtIn("0.2.0")})); !strings.Contains(got, "run again by version 0.2.0, the record does not give what version 0.1.0 gave") {
		t.Error(got)
	}
}

// TestCompareResults: what is identical, rounding and changed.
func TestCompareResults(t *testing.T) {
	for _, c := range []struct {
		a, b     string
		versions bool
		want     Status
		what     string
	}{
		{`{"a":1}`, `{"a":1}`, false, Identical, ""},
		{`{"a":1.0}`, `{"a":1}`, false, Rounding, ""},
		{`{"a":1}`, `{"a":1.0000000009}`, false, Rounding, ""},
		{`{"a":1}`, `{"a":1.0000000011}`, false, Changed, "a"},
		{`{"a":-1e300}`, `{"a":1e300}`, false, Changed, "a"},
		{`{"a":0}`, `{"a":1e-30}`, false, Changed, "a"},
		{`{"v":{"value":0,"u":1}}`, `{"v":{"value":1e-10,"u":1}}`, false, Rounding, ""},
		{`{"v":{"value":0,"u":1}}`, `{"v":{"value":1e-8,"u":1}}`, false, Changed, "v.value"},
		{`{"c":[1,0]}`, `{"c":[1,1e-10]}`, false, Rounding, ""},
		{`{"c":[1,0]}`, `{"c":[1,1e-8]}`, false, Changed, "c[1]"},
		{`{"c":[1]}`, `{"c":[1,2]}`, false, Changed, "c"},
		{`{"c":[1,null]}`, `{"c":[1,0]}`, false, Changed, "c[1]"},
		{`{"a":1}`, `{"a":"1"}`, false, Changed, "a"},
		{`{"a":1}`, `{}`, false, Changed, "a"},
		{`{}`, `{"a":1}`, false, Changed, "a"},
		{`{}`, `{"a":1}`, true, Identical, ""},
		{`{"a":1}`, `{}`, true, Changed, "a"},
		{`{"s":"5 mm long"}`, `{"s":"long: 5 mm"}`, true, Identical, ""},
		{`{"s":"5 mm long"}`, `{"s":"long: 6 mm"}`, true, Changed, "s"},
		{`{"s":"x"}`, `{"s":"y"}`, false, Changed, "s"},
		{`{"taut":"1","findings":[]}`, `{"taut":"2","findings":[1]}`, true, Identical, ""},
		{`{"taut":"1"}`, `{"taut":"2"}`, false, Changed, "taut"},
		{`{"a":1} `, `{"a":1}`, false, Changed, "results.json"},
		{`{"a":`, `{"a":1}`, false, Changed, "results.json"},
		{`{"a":1e999}`, `{"a":1}`, false, Changed, "a"},
	} {
		got := compareResults([]byte(c.a), []byte(c.b), c.versions)
		what := ""
		if len(got.changes) > 0 {
			what = got.changes[0].What
		}
		if got.status != c.want || what != c.what {
			t.Errorf("%s and %s: %s %q", c.a, c.b, got.status, what)
		}
	}
}

// TestParts: the parts together are the whole, to the byte, however many they
// are; no part depends on the others; what does not belong together is not
// merged.
func TestParts(t *testing.T) {
	h := hurt{t, copyTree(t, signedArchive(t))}
	dir := t.TempDir()
	for i := range 9 {
		writeFiles(t, dir, map[string]string{"record.md": plainRecord("R"+fmt.Sprint(i), "Ann", "2026-01-02", "x")})
		sealTo(t, h.dir, sealing(), filepath.Join(dir, "record.md"))
	}
	h.write(bagA+"/data/extra", "x")
	report := func(part, parts int) *Report {
		r := &Report{Taut: "0.1.0", Archives: []*ArchiveReport{verified(t, h.dir, VerifyOptions{Part: part, Parts: parts})}}
		r.Archives[0].Path = "archive"
		if parts > 0 {
			r.Part = fmt.Sprintf("%d/%d", part, parts)
		}
		text, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		again, err := ParseReport(text)
		if err != nil {
			t.Fatal(err)
		}
		return again
	}
	whole := report(0, 0)
	for _, n := range []int{1, 2, 3, 7, 40} {
		var parts []*Report
		for k := n; k >= 1; k-- {
			parts = append(parts, report(k, n))
		}
		got, err := Merge(parts)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, whole) {
			t.Errorf("%d parts are not the whole", n)
		}
		if n == 2 && (len(parts[0].Archives[0].Units) == 0 || len(parts[1].Archives[0].Units) == 0) {
			t.Error("one part has nothing to do")
		}
	}
	two := []*Report{report(1, 2), report(2, 2)}
	for want, list := range map[string][]*Report{
		"are missing: 2":       two[:1],
		"there twice":          {two[0], two[0]},
		"of different splits":  {two[0], report(2, 3)},
		"not that of a part":   {whole},
		"no report":            nil,
		"in the same way":      {two[0], {Taut: "0.2.0", Part: "2/2", Archives: two[1].Archives}},
		"it is of `b`":         {two[0], {Taut: "0.1.0", Part: "2/2", Archives: []*ArchiveReport{{Path: "b", State: two[0].Archives[0].State}}}},
		"was not the same":     {two[0], {Taut: "0.1.0", Part: "2/2", Archives: []*ArchiveReport{{Path: "archive", State: "x"}}}},
		"it is of other archi": {two[0], {Taut: "0.1.0", Part: "2/2"}},
	} {
		if _, err := Merge(list); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", want, err)
		}
	}
}

// TestWorkers: the number of workers changes nothing of the report.
func TestWorkers(t *testing.T) {
	sealed := signedArchive(t)
	one, many := verified(t, sealed, VerifyOptions{Workers: 1}), verified(t, sealed, VerifyOptions{Workers: 7})
	if !reflect.DeepEqual(one, many) {
		t.Errorf("%+v\n%+v", one, many)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Verify(ctx, sealed, VerifyOptions{Build: builtIn("0.1.0")}); err == nil {
		t.Error("a verification that was stopped has a report")
	}
}

// TestBalanced: parts are about as large as one another.
func TestBalanced(t *testing.T) {
	count := map[int]int{}
	for i := range 8000 {
		count[partOf(fmt.Sprintf("wf-%d/2026-03-%02d-length-%d", i%5, i%28+1, i), 8)]++
	}
	for k, n := range count {
		if n < 850 || n > 1150 || k < 1 || k > 8 {
			t.Errorf("part %d: %d", k, n)
		}
	}
	if len(count) != 8 {
		t.Error(count)
	}
}
