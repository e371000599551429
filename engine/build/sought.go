package build

import "path/filepath"

// Sought returns the paths of all files that the record asked for, those that
// could not be had too, and of the Marker: when none of them changes, nor
// appears or vanishes, the record is what it was.
func (o *Output) Sought() []string { return o.sought }

// sought lists what was asked for, each once.
func (d *door) sought() []string {
	out := []string{filepath.Join(d.root.Name(), Marker)}
	seen := map[string]bool{}
	for _, q := range d.asked {
		if !seen[q.Path] {
			seen[q.Path] = true
			out = append(out, filepath.Join(d.root.Name(), filepath.FromSlash(q.Path)))
		}
	}
	return out
}
