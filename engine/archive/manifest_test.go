package archive

import (
	"maps"
	"path"
	"strings"
	"testing"
)

// TestManifestPaths: paths that lead out, or that some system takes for
// something else, are refused (RFC 8493, 2.1.3 and 5).
func TestManifestPaths(t *testing.T) {
	for _, c := range []struct{ path, slug string }{
		{"data/x", ""}, {"data/a b/ü.csv", ""}, {"data/..x", ""}, {"data/%25", ""}, {"data/a%0Ab%0dc", ""},
		{"../data/x", "path-outside"}, {"data/../x", "path-outside"}, {"data/../../x", "path-outside"}, {"data/..", "path-outside"},
		{"/etc/passwd", "path-outside"}, {"~/x", "path-outside"}, {"~root/x", "path-outside"}, {"./data/x", "path-outside"}, {"data/./x", "path-outside"},
		{"data//x", "path-outside"}, {"data/", "path-outside"}, {"data", "path-outside"}, {"bagit.txt", "path-outside"}, {`data\..\x`, "path-outside"},
		{"C:/x", "path-outside"}, {"*data/x", "path-outside"}, {"data/\x00", "path-outside"}, {"data/%2e%2e/x", "bad-manifest"}, {"data/%", "bad-manifest"},
		{"data/%2", "bad-manifest"}, {"data/%0", "bad-manifest"}, {"data/%00", "bad-manifest"}, {"%2Fetc/passwd", "bad-manifest"},
	} {
		m := parseManifest("m", algorithms[0], true, []byte(zeroSum+"  "+c.path+"\n"))
		got := ""
		if len(m.findings) > 0 {
			got = m.findings[0].Slug
		}
		if got != c.slug || (len(m.sums) == 0) != (c.slug != "") {
			t.Errorf("%q: %q, %v", c.path, got, m.sums)
		}
	}
	for _, c := range []struct{ path, slug string }{{"bagit.txt", ""}, {"data/x", "path-outside"}, {"tagmanifest-sha256.txt", "path-outside"}} {
		m := parseManifest("m", algorithms[0], false, []byte(zeroSum+"  "+c.path+"\n"))
		if got := len(m.findings) > 0; got != (c.slug != "") {
			t.Errorf("%q: %v", c.path, m.findings)
		}
	}
}

// TestManifestForms: other line ends, sums of another length, lines twice.
func TestManifestForms(t *testing.T) {
	for text, slug := range map[string]string{
		"":                                      "bad-manifest",
		"\n":                                    "bad-manifest",
		zeroSum + "  data/x":                    "bad-manifest",
		zeroSum + "  data/x\r\n":                "line-ends",
		zeroSum + "  data/x\r":                  "line-ends",
		zeroSum[1:] + "  data/x\n":              "bad-manifest",
		zeroSum + zeroSum + "  data/x\n":        "bad-manifest",
		"\ufeff" + zeroSum + "  data/x\n":       "bad-manifest",
		zeroSum + "  data/\xff\n":               "bad-manifest",
		"x" + zeroSum[1:] + "  data/x\n":        "bad-manifest",
		strings.Repeat(zeroSum+"  data/x\n", 2): "listed-twice",
		strings.ToUpper(strings.Replace(zeroSum, "0", "a", 1)) + "\tdata/x\n": "",
	} {
		m := parseManifest("m", algorithms[0], true, []byte(text))
		got := ""
		if len(m.findings) > 0 {
			got = m.findings[0].Slug
		}
		if got != slug {
			t.Errorf("%q: %v", text, m.findings)
		}
	}
	long := strings.Repeat("x\n", 100000)
	if m := parseManifest("m", algorithms[0], true, []byte(long)); len(m.findings) != mostOfOne {
		t.Errorf("%d findings", len(m.findings))
	}
}

// FuzzManifest: whatever the bytes, nothing panics, no path leads out of data/,
// and what is read without a finding reads the same when it is written.
func FuzzManifest(f *testing.F) {
	for _, s := range []string{"", zeroSum + "  data/x\n", zeroSum + "\tdata/a%0Ab%25\r\n", zeroSum + " ../x\n", "%", zeroSum + "  data/%2e./x\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		m := parseManifest("m", algorithms[0], true, text)
		files := map[string]sums{}
		for p, s := range m.sums {
			if path.Clean(p) != p || !strings.HasPrefix(p, "data/") {
				t.Errorf("path %q", p)
			}
			files[p] = sums{"sha256": s}
		}
		if len(files) == 0 {
			return
		}
		again := parseManifest("m", algorithms[0], true, formatManifest(algorithms[0], files))
		if !maps.Equal(again.sums, m.sums) || len(again.findings) > 0 {
			t.Errorf("%v\nis written and read as %v %v", m.sums, again.sums, again.findings)
		}
	})
}
