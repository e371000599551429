package archive

import (
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/build"
	"example.org/taut/engine/page"
	"example.org/taut/themes"
)

// builtIn is a build with all that is built in.
func builtIn(version string) build.Options {
	return build.Options{Kinds: blocks.All(), Library: blocks.Built(), Themes: theThemes{}, Version: version}
}

type theThemes struct{}

func (theThemes) Names() []string { return themes.Names() }

func (theThemes) Load(name string) (*page.Theme, error) {
	if name == "" {
		return defaultTheme()
	}
	return themes.Load(name)
}

var defaultTheme = sync.OnceValues(func() (*page.Theme, error) { return themes.Load("") })

func themeFiles(name string) (fs.FS, error) {
	if name == "" {
		name = themes.Default
	}
	return fs.Sub(themes.FS(), name)
}

// tinyTheme keeps bags small.
var tinyTheme = os.DirFS("testdata/tiny-theme")

// sealing are the options of most tests. They do not wait for the disk: what
// they interrupt is the program, not the machine.
func sealing() Options {
	return Options{Build: builtIn("0.1.0"), ThemeFiles: themeFiles, Theme: tinyTheme, hooks: hooks{flush: func(*os.File) error { return nil }}}
}

// files writes files into a folder.
func writeFiles(t testing.TB, dir string, files map[string]string) {
	t.Helper()
	for name, text := range files {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
}

// tiny is a small invented record with all that a bag can hold.
var tiny = map[string]string{
	"taut.root":     "",
	"wf/bench.yaml": "apparatus: wire frame\nidentity: WF 7\nplace: Ashmere Hall (invented)\ninstruments:\n  tape: {what: steel tape, resolution: 1 mm, serial: T-5}\n",
	"wf/long.csv":   "l / mm @tape\n2846\n2848\n",
	"wf/record.md": "---\ntitle: A wire's length\nauthor: R. Thornbury (invented)\ndate: 2026-03-12\napparatus: bench.yaml\n---\n\n" +
		"```data long from=long.csv\n```\n\n```calc\nL = mean(long.l) in m\n```\n\nThe wire is =[L] long.\n",
	"wf/second.md": "---\ntitle: A wire's length again\ndate: 2026-03-19\napparatus: bench.yaml\n---\n\n" +
		"```calc\nL = 2.85 m ± 1 mm\n```\n\nThe wire is =[L] long.\n",
}

// sealTo seals records and demands that each is.
func sealTo(t testing.TB, archive string, o Options, records ...string) []*Sealing {
	t.Helper()
	var out []*Sealing
	if _, err := Seal(archive, records, o, func(s *Sealing) { out = append(out, s) }); err != nil {
		t.Fatal(err)
	}
	for _, s := range out {
		if s.Err != nil {
			t.Fatalf("%s: %v", s.Record, s.Err)
		}
	}
	return out
}

// verified verifies an archive.
func verified(t testing.TB, archive string, o VerifyOptions) *ArchiveReport {
	t.Helper()
	if o.Build.Kinds == nil {
		o.Build = builtIn("0.1.0")
	}
	r, err := Verify(context.Background(), archive, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// findings lists the slugs of all findings with their paths.
func findings(r *ArchiveReport) string {
	var out []string
	for _, u := range r.Units {
		for _, f := range u.Findings {
			out = append(out, f.String())
		}
	}
	return strings.Join(out, "\n")
}

// tree are all files below a folder with their contents; folders end with "/".
func tree(t testing.TB, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(dir, func(p string, e fs.DirEntry, err error) error {
		if err != nil || p == dir {
			return err
		}
		name, _ := filepath.Rel(dir, p)
		name = filepath.ToSlash(name)
		if e.IsDir() {
			out[name+"/"] = ""
			return nil
		}
		text, err := os.ReadFile(p)
		out[name] = string(text)
		return err
	})
	if err != nil && !os.IsNotExist(err) {
		t.Fatal(err)
	}
	return out
}
