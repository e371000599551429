package build

import (
	"encoding/base64"
	"fmt"
	"net/http"
	"net/url"
	"regexp"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// Pictures are carried within the page, so that it is complete wherever it is
// read: a file beside the record through the one door, and nothing else.

// pictureTypes are the forms of pictures that every browser shows and that can
// hold no script.
var pictureTypes = map[string]bool{"image/png": true, "image/jpeg": true, "image/gif": true, "image/webp": true}

// elsewhere is an address that leads out of the record's folder: one with a
// scheme, or of another host.
var elsewhere = regexp.MustCompile(`^(?:[A-Za-z][A-Za-z0-9+.-]+:|//)`)

// pictures reads what the record's texts show. The addresses are those of the
// text, the pictures are `data:` addresses.
func pictures(p *block.Program, d *door, set *finding.Set) map[string]string {
	var out map[string]string
	for _, doc := range p.Documents() {
		for _, pic := range doc.Pictures() {
			if pic.Words == "" {
				set.Add(wordless(pic))
			}
			if out[pic.Address] != "" {
				continue
			}
			if elsewhere.MatchString(pic.Address) {
				set.Add(remotePicture(pic))
				continue
			}
			if data := picture(doc.File, pic, d, set); data != "" {
				if out == nil {
					out = map[string]string{}
				}
				out[pic.Address] = data
			}
		}
	}
	return out
}

// picture reads one picture; "" where there is none.
func picture(from *source.File, pic record.Picture, d *door, set *finding.Set) string {
	name, err := url.PathUnescape(pic.Address) // a space is written %20
	if err != nil {
		name = pic.Address
	}
	data, err := d.bytes(from, name)
	if err != nil {
		set.Add(block.CannotOpen(pic.At, err))
		return ""
	}
	kind := http.DetectContentType(data)
	if !pictureTypes[kind] {
		set.Add(notPicture(pic, name))
		return ""
	}
	return "data:" + kind + ";base64," + base64.StdEncoding.EncodeToString(data)
}

// remotePicture: `![the frame](https://example.org/frame.png)`.
func remotePicture(p record.Picture) *finding.Finding {
	return &finding.Finding{Severity: finding.Note, Slug: "remote-picture", At: p.At,
		Message: "this picture lies elsewhere: the page names it and does not show it, since nothing is fetched",
		Hint:    "save it beside the record, if you may"}
}

// notPicture: `![the frame](frame.pdf)`.
func notPicture(p record.Picture, name string) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "not-a-picture", At: p.At,
		Message: fmt.Sprintf("`%s` is no picture that a page can carry", name), Hint: "save it as PNG, JPEG, GIF or WebP"}
}

// wordless: `![](frame.png)`.
func wordless(p record.Picture) *finding.Finding {
	return &finding.Finding{Severity: finding.Note, Slug: "picture-without-words", At: p.At,
		Message: "this picture says nothing to those who can't see it",
		Hint:    "write between its square brackets what it shows: `![the frame from the side](frame.png)`"}
}
