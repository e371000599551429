package build

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"example.org/taut/engine/block"
	"example.org/taut/engine/source"
)

// tree lays files out in a new folder and returns it.
func tree(t testing.TB, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		p := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(p), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(p, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func open(t *testing.T, record string) (*door, *source.File) {
	t.Helper()
	d, f, err := openDoor(record)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(d.close)
	return d, f
}

func TestDoorRefuses(t *testing.T) {
	dir := tree(t, map[string]string{"secret.txt": "s", "in/r.md": "", "in/data/a.csv": "x", "in/sub/b.csv": "x"})
	in := filepath.Join(dir, "in")
	link := func(to, name string) {
		if err := os.Symlink(to, filepath.Join(in, name)); err != nil {
			t.Fatal(err)
		}
	}
	link("../secret.txt", "out")
	link("..", "up")
	link(filepath.Join(in, "data", "a.csv"), "absolute")
	link("data/a.csv", "inside")
	link("nowhere", "dangling")
	if err := syscall.Mkfifo(filepath.Join(in, "pipe"), 0o666); err != nil {
		t.Fatal(err)
	}
	d, rec := open(t, filepath.Join(in, "r.md"))
	for _, c := range []struct{ path, want string }{
		{"data/a.csv", ""},
		{"./data/../data/a.csv", ""},
		{"inside", ""},
		{"../secret.txt", "leads outside"},
		{"data/../../secret.txt", "leads outside"},
		{"data/../../in/r.md", "leads outside"}, // by its way, whatever its end
		{"..", "leads outside"},
		{"out", "symbolic link that leads outside"},
		{"up/secret.txt", "symbolic link that leads outside"},
		{"absolute", "symbolic link that leads outside"},
		{"dangling", "there is no file `dangling`"},
		{"/etc/passwd", "not relative"},
		{"~/x", "not relative"},
		{`\\server\share`, "not relative"},
		{"D:/x", "not relative"},
		{`data\a.csv`, "backslash"},
		{"https://example.org/a.csv", "nothing is fetched"},
		{"data", "is a folder"},
		{"data/", "is a folder"},
		{".", "is a folder"},
		{"pipe", "is a pipe"},
		{"", "path of a file is due"},
		{"a\nb", "character that no path has"},
		{"a\x00b", "character that no path has"},
		{"a\xffb", "character that no path has"},
		{"data/a.csw", "there is no file"},
		{"data/a.csv/x", "nor its folder"},
		{strings.Repeat("x", 500), "can't be read"}, // longer than a name may be
		{strings.Repeat("x/", 5000), "this path has 10000 bytes"},
	} {
		f, err := d.Open(rec, c.path)
		if c.want == "" {
			if err != nil {
				t.Errorf("%s: %v", c.path, err)
			}
			continue
		}
		var o *block.OpenError
		if f != nil || !errors.As(err, &o) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%.40q: %v, want %q", c.path, err, c.want)
		} else if strings.Contains(o.Message+o.Hint, dir) {
			t.Errorf("%.40q: an absolute path is told: %s; %s", c.path, o.Message, o.Hint)
		}
	}
	if len(d.inputs) != 3 { // r.md, data/a.csv and the link to it
		t.Errorf("inputs are %v", d.inputs)
	}
}

func TestDoorDevice(t *testing.T) {
	d, rec := open(t, filepath.Join(tree(t, map[string]string{"r.md": ""}), "r.md"))
	if err := checkInfo(must(os.Stat(os.DevNull)), "null"); err == nil || !strings.Contains(err.Error(), "is a device") {
		t.Errorf("a device: %v", err)
	}
	if _, err := d.Open(rec, os.DevNull); err == nil {
		t.Error("a device was opened")
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func TestDoorRoot(t *testing.T) {
	dir := tree(t, map[string]string{
		Marker: "", "common/a.yaml": "x", "2026/wire/r.md": "", "2026/wire/data/d.csv": "x", "2026/methods/m.md": "x", "2026/methods/n.csv": "x",
	})
	d, rec := open(t, filepath.Join(dir, "2026", "wire", "r.md"))
	if rec.Name != "2026/wire/r.md" {
		t.Errorf("the record is %s", rec.Name)
	}
	if _, err := d.Open(rec, "../../common/a.yaml"); err != nil {
		t.Error(err)
	}
	m, err := d.Open(rec, "../methods/m.md")
	if err != nil {
		t.Fatal(err)
	}
	// A file asks from its own folder; one that is built in, from the record's.
	n, err := d.Open(m, "n.csv")
	if err != nil || n.Name != "2026/methods/n.csv" {
		t.Errorf("%v, %v", n, err)
	}
	if _, err := d.Open(source.NewFile("built-in:x.md", nil), "data/d.csv"); err != nil {
		t.Error(err)
	}
	var paths []string
	for _, in := range d.inputs {
		paths = append(paths, in.Path)
	}
	want := "2026/methods/m.md 2026/methods/n.csv 2026/wire/data/d.csv 2026/wire/r.md common/a.yaml"
	if got := strings.Join(paths, " "); got != want {
		t.Errorf("inputs are %s, not %s", got, want)
	}
}

func TestDoorShown(t *testing.T) {
	dir := tree(t, map[string]string{Marker: "", "a/r.md": "", "a/d/x.csv": "x", "b/y.csv": "x"})
	t.Chdir(filepath.Join(dir, "b"))
	for record, want := range map[string][2]string{
		"../a/r.md":                     {"../a/r.md", "../a/d/x.csv"},
		"./../a/./r.md":                 {"../a/r.md", "../a/d/x.csv"},
		filepath.Join(dir, "a", "r.md"): {filepath.ToSlash(dir) + "/a/r.md", filepath.ToSlash(dir) + "/a/d/x.csv"},
	} {
		d, rec := open(t, record)
		x, err := d.Open(rec, "d/x.csv")
		if err != nil {
			t.Fatal(err)
		}
		if d.shown(rec) != want[0] || d.shown(x) != want[1] {
			t.Errorf("%s: shown as %s and %s", record, d.shown(rec), d.shown(x))
		}
		if other := source.NewFile("built-in:m.md", nil); d.shown(other) != other.Name {
			t.Errorf("a built-in file is shown as %s", d.shown(other))
		}
	}
	t.Chdir(filepath.Join(dir, "a"))
	d, rec := open(t, "r.md")
	y, err := d.Open(rec, "../b/y.csv")
	if err != nil || d.shown(y) != "../b/y.csv" || d.shown(rec) != "r.md" {
		t.Errorf("shown as %s and %s, %v", d.shown(rec), d.shown(y), err)
	}
}

func TestDoorReadsOnce(t *testing.T) {
	dir := tree(t, map[string]string{"r.md": "", "x.csv": "\uFEFFload / kg\n"})
	d, rec := open(t, filepath.Join(dir, "r.md"))
	a := must(d.Open(rec, "x.csv"))
	if err := os.WriteFile(filepath.Join(dir, "x.csv"), []byte("changed"), 0o666); err != nil {
		t.Fatal(err)
	}
	b := must(d.Open(rec, "./x.csv"))
	if a != b || string(a.Text) != "load / kg\n" {
		t.Errorf("read as %q, then as %q", a.Text, b.Text)
	}
	// Of the bytes of the file, its byte order mark included, by sha256sum of
	// GNU coreutils.
	const sum = "5bee9a3598c27af828a0546f39ba7bda28114783ee0c662324b4b1743195b50e"
	if got := d.inputs[1].SHA256; got != sum {
		t.Errorf("SHA-256 is %s, not %s", got, sum)
	}
}

func TestSizeLimit(t *testing.T) {
	dir := tree(t, map[string]string{"r.md": ""})
	for size, ok := range map[int64]bool{MaxFile: true, MaxFile + 1: false} {
		p := filepath.Join(dir, "big.csv")
		text := strings.Repeat("1234567\n", MaxFile/8) + strings.Repeat("1", int(size-MaxFile))
		if err := os.WriteFile(p, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		d, rec := open(t, filepath.Join(dir, "r.md"))
		if _, err := d.Open(rec, "big.csv"); (err == nil) != ok {
			t.Errorf("%d bytes: %v", size, err)
		}
	}
}

func FuzzDoor(f *testing.F) {
	for _, s := range []string{"a.csv", "../x", "/etc/passwd", "a/../../b", "..\\x", "C:x", "up/secret", "a\x00", "~", "//x", "a/./b/"} {
		f.Add(s)
	}
	dir := tree(f, map[string]string{"secret": "4711", "in/r.md": "", "in/a.csv": "x"})
	if err := os.Symlink("..", filepath.Join(dir, "in", "up")); err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, name string) {
		d, rec := open(t, filepath.Join(dir, "in", "r.md"))
		if got, err := d.Open(rec, name); err == nil && strings.Contains(string(got.Text), "4711") {
			t.Errorf("%q leads outside", name)
		}
	})
}
