package archive

import (
	"fmt"
	"strings"
	"unicode"
)

// bagitText is the bag declaration (RFC 8493, 2.1.1).
const bagitText = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"

// bagInfo is the metadata of a bag (RFC 8493, 2.2.2). The last three elements
// are our own.
type bagInfo struct {
	description string
	identifier  string // APPARATUS/BAG
	date        string
	octets      int64
	files       int
	agent       string
	record      string // path below data/source
	apparatus   string
	amends      string
}

func (b bagInfo) encode() []byte {
	var out strings.Builder
	for _, e := range []Element{
		{"Bagging-Date", b.date},
		{"External-Description", b.description},
		{"External-Identifier", b.identifier},
		{"Payload-Oxum", fmt.Sprintf("%d.%d", b.octets, b.files)},
		{"Bag-Software-Agent", b.agent},
		{"Record", sourceDir + "/" + b.record},
		{"Apparatus", b.apparatus},
		{"Amends", b.amends},
	} {
		if e.Value != "" {
			fmt.Fprintf(&out, "%s: %s\n", e.Label, oneLine(e.Value))
		}
	}
	return []byte(out.String())
}

// oneLine is a text without line ends and other control characters.
func oneLine(s string) string {
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return unicode.IsControl(r) || r == ' ' }), " ")
}
