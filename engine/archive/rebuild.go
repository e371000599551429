package archive

import (
	"fmt"
	"io/fs"
	"os"
	"path"
	"sync"

	"example.org/taut/engine/build"
	"example.org/taut/engine/page"
	"example.org/taut/engine/view"
)

// rebuilder builds records from their bags alone. It may be used by several
// goroutines.
type rebuilder struct {
	root    *os.Root // of the archive
	options build.Options

	mu     sync.Mutex
	themes map[string]*page.Theme // by the sum of their files: few differ
}

// mostThemes is how many themes are kept at most.
const mostThemes = 16

func newRebuilder(root *os.Root, o build.Options) *rebuilder {
	o.View = view.AsRecord
	return &rebuilder{root: root, options: o, themes: map[string]*page.Theme{}}
}

// rebuild builds the record of a bag.
func (r *rebuilder) rebuild(bag, record string) (*build.Output, error) {
	o := r.options
	var err error
	if o.Theme, err = r.theme(path.Join(bag, themeDir)); err != nil {
		return nil, err
	}
	source, err := r.root.OpenRoot(path.Join(bag, sourceDir))
	if err != nil {
		return nil, fmt.Errorf("its source: %s", reason(err))
	}
	defer source.Close()
	return build.Within(source, record, o)
}

// theme loads the theme of a folder, unless one of the same files was loaded.
func (r *rebuilder) theme(dir string) (*page.Theme, error) {
	root, err := r.root.OpenRoot(dir)
	if err != nil {
		return nil, fmt.Errorf("its theme: %s", reason(err))
	}
	defer root.Close()
	key, err := themeSum(root)
	if err != nil {
		return nil, fmt.Errorf("its theme: %s", reason(err))
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if t := r.themes[key]; t != nil {
		return t, nil
	}
	t, err := page.LoadTheme(root.FS())
	if err != nil {
		return nil, err
	}
	if again, err := themeSum(root); err != nil || again != key {
		return nil, fmt.Errorf("its theme was changed while it was read")
	}
	if len(r.themes) == mostThemes {
		clear(r.themes)
	}
	r.themes[key] = t
	return t, nil
}

// themeSum stands for the files of a theme.
func themeSum(root *os.Root) (string, error) {
	inside, err := fs.ReadDir(root.FS(), ".")
	if err != nil {
		return "", err
	}
	files := map[string]sums{}
	for _, e := range inside {
		if e.IsDir() {
			continue // no theme has folders
		}
		text, err := readLinked(root, e.Name())
		if err != nil {
			return "", err
		}
		files[e.Name()] = sums{algorithms[0].name: sumOf(text)}
	}
	return sumOf(formatManifest(algorithms[0], files)), nil
}
