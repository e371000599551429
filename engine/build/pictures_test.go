package build

import (
	"encoding/base64"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/taut/engine/finding"
)

// dot is a picture of one pixel, in GIF as of its specification's smallest
// form.
const dot = "GIF89a\x01\x00\x01\x00\x80\x00\x00\x00\x00\x00\xff\xff\xff,\x00\x00\x00\x00\x01\x00\x01\x00\x00\x02\x02D\x01\x00;"

func TestPictures(t *testing.T) {
	dir := tree(t, map[string]string{"in/r.md": "---\ntitle: P\n---\n![the frame](my%20frame.gif \"seen from above\")\n\n[![again](<my frame.gif>)](x.html)\n",
		"in/my frame.gif": dot, "secret.gif": dot})
	path := filepath.Join(dir, "in", "r.md")
	out := buildRecord(t, path, testOptions())
	want := `src="data:image/gif;base64,` + base64.StdEncoding.EncodeToString([]byte(dot)) + `" alt="the frame" /><figcaption>seen from above</figcaption>`
	if html := string(out.HTML); !strings.Contains(html, want) || strings.Count(html, "<img") != 2 {
		t.Errorf("the page does not carry its pictures: %s", html[strings.Index(html, "<main"):])
	}
	if len(out.Findings) > 0 {
		t.Errorf("found: %v", out.Findings)
	}
	if len(out.Inputs) != 2 || out.Inputs[0].Path != "in/my frame.gif" && out.Inputs[0].Path != "my frame.gif" {
		t.Errorf("made from %v", out.Inputs)
	}
	// Nothing outside is carried, however it is written.
	for _, address := range []string{"../secret.gif", "%2e%2e/secret.gif", "/etc/passwd", "file:///etc/passwd", "//example.org/a.gif", "javascript:x", "data:image/gif;base64,AAAA", "link.gif"} {
		text := "![x](" + address + ")\n"
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		if err := os.Symlink("../secret.gif", filepath.Join(dir, "in", "link.gif")); err != nil && !os.IsExist(err) {
			t.Fatal(err)
		}
		out := buildRecord(t, path, testOptions())
		if strings.Contains(string(out.HTML), "<img") {
			t.Errorf("%s is carried", address)
		}
		if len(out.Findings) != 1 {
			t.Errorf("%s: found %v", address, out.Findings)
		}
	}
}

// TestMissingPictureIsSought: a page without its picture is made again once the
// picture is there.
func TestMissingPictureIsSought(t *testing.T) {
	dir := tree(t, map[string]string{"r.md": "![x](a.gif)\n"})
	path := filepath.Join(dir, "r.md")
	asked := buildRecord(t, path, testOptions())
	if asked.Count(finding.Error) != 1 {
		t.Fatalf("found %v", asked.Findings)
	}
	sought := strings.Join(asked.Sought(), " ")
	if !strings.Contains(sought, "a.gif") {
		t.Errorf("the picture that is missing was not sought: %s", sought)
	}
}
