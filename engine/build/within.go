package build

import (
	"os"
	"path"

	"example.org/taut/engine/results"
	"example.org/taut/engine/source"
)

// Within builds the record at a path below a root. Unlike Record it looks for
// no Marker above: the root given is that of the record, and nothing outside of
// it is read. The errors are those of Record. The root stays open.
func Within(root *os.Root, record string, o Options) (*Output, error) {
	below, err := root.OpenRoot(".") // the door closes its own
	if err != nil {
		return nil, unreadable(record, err)
	}
	_, err = below.Lstat(Marker)
	dir := path.Dir(record)
	d := &door{root: below, marked: err == nil, record: record, dir: dir, typed: dir,
		opened: map[string]*source.File{}, known: map[*source.File]bool{}, inputs: []results.Input{}}
	defer d.close()
	text, err := d.open(record, record)
	if err != nil {
		return nil, &ReadError{Err: err}
	}
	return recordBehind(d, text, o)
}
