package blocks

import (
	"embed"
	"io/fs"
	"path"
	"sort"
	"strings"
	"sync"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/source"
)

//go:embed methods materials
var embedded embed.FS

// Built returns the methods and materials that are built in.
func Built() *BuiltIn { return library() }

// BuiltIn is a library of embedded files. It implements block.Library.
type BuiltIn struct {
	methods   map[string]*source.File
	names     []string
	materials *method.Materials
	// Findings are what is wrong with the tables of materials; a test holds
	// them to none.
	Findings []*finding.Finding
}

var _ block.Library = (*BuiltIn)(nil)

var library = sync.OnceValue(func() *BuiltIn {
	l := &BuiltIn{methods: map[string]*source.File{}}
	for _, f := range files("methods", ".md") {
		name := strings.TrimSuffix(path.Base(f.Name), ".md")
		l.methods[name] = f
		l.names = append(l.names, name)
	}
	sort.Strings(l.names)
	var set finding.Set
	l.materials = method.ReadMaterials(files("materials", ".csv"), &set)
	l.Findings = set.Sorted()
	return l
})

func files(dir, ext string) []*source.File {
	entries, err := fs.ReadDir(embedded, dir)
	if err != nil {
		return nil // the folder is embedded: it is there
	}
	var out []*source.File
	for _, e := range entries {
		if path.Ext(e.Name()) != ext {
			continue
		}
		text, err := fs.ReadFile(embedded, path.Join(dir, e.Name()))
		if err == nil {
			out = append(out, source.NewFile("built-in:"+dir+"/"+e.Name(), text))
		}
	}
	return out
}

// Method implements block.Library.
func (l *BuiltIn) Method(name string) (*source.File, bool) {
	f, ok := l.methods[name]
	return f, ok
}

// MethodNames implements block.Library.
func (l *BuiltIn) MethodNames() []string { return l.names }

// Material implements block.Library.
func (l *BuiltIn) Material(name string) (eval.Value, bool) { return l.materials.Material(name) }

// MaterialNames implements block.Library.
func (l *BuiltIn) MaterialNames() []string { return l.materials.Names() }

// Constants lists the constants of all materials.
func (l *BuiltIn) Constants() []method.Constant { return l.materials.Constants }
