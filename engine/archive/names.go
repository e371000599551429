package archive

import (
	"regexp"
	"strconv"
	"strings"

	"golang.org/x/text/unicode/norm"

	"example.org/taut/engine/build"
)

// Names of an archive's files.
const (
	markerName = build.ArchiveMarker
	ledgerName = "ledger.jsonl"
	crateName  = "ro-crate-metadata.json"
	pageFile   = "data/record.html"
	resultFile = "data/results.json"
	crateFile  = "data/" + crateName
	sourceDir  = "data/source"
	themeDir   = "data/theme"
	// stagingPrefix begins the names of what a sealing that was interrupted
	// may leave behind.
	stagingPrefix = ".sealing-"
)

// markerText is the content of the marker. It tells whoever finds the archive
// what it is.
const markerText = `taut archive, layout 1

This folder is an archive of laboratory records. Each folder in it belongs to an
apparatus. Its ledger.jsonl has one line for each of the folders beside it, which
are bags (RFC 8493). In a bag, data/record.html is the record as a page for any
browser, data/results.json has its numbers, data/source the files that it was
made from. The sums in a bag can be checked with "sha256sum -c", in the bag's
folder, against manifest-sha256.txt and tagmanifest-sha256.txt; a line of the
ledger names, as "previous", the SHA-256 sum of the line before. Nothing here is
to be changed: corrections are further bags.
`

// noApparatus is the folder of records without an apparatus.
const noApparatus = "no-apparatus"

// longestSlug is the length of the longest name made from a title, in bytes.
const longestSlug = 60

var slugForm = regexp.MustCompile(`^[a-z0-9]+(?:-[a-z0-9]+)*$`)

// isSlug reports whether a name is one that an archive gives to its folders.
func isSlug(name string) bool { return len(name) <= 200 && slugForm.MatchString(name) }

// isBagPath reports whether a text is APPARATUS/BAG.
func isBagPath(text string) bool {
	apparatus, bag, ok := strings.Cut(text, "/")
	return ok && isSlug(apparatus) && isSlug(bag)
}

// spelled are letters that have no simpler form by themselves.
var spelled = strings.NewReplacer("ß", "ss", "æ", "ae", "œ", "oe", "ø", "o", "đ", "d", "ł", "l", "þ", "th", "ð", "d", "ı", "i", "’", "", "'", "")

// deviceForm are names that Windows keeps for devices, of which no folder can be
// made there.
var deviceForm = regexp.MustCompile(`^(?:con|prn|aux|nul|com[0-9]|lpt[0-9])$`)

// folderName is the name of the folder of an apparatus with that identity.
func folderName(identity string) string {
	if identity == "" {
		return noApparatus
	}
	s := slug(identity, "apparatus")
	if deviceForm.MatchString(s) {
		return "apparatus-" + s
	}
	return s
}

// slug makes the name of a folder from a text: lower-case letters and digits of
// ASCII, words joined by hyphens, so that it is the same on every file system;
// instead where nothing is left.
func slug(text, instead string) string {
	var b strings.Builder
	gap := false
	for _, r := range norm.NFKD.String(spelled.Replace(strings.ToLower(text))) {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			if gap && b.Len() > 0 {
				b.WriteByte('-')
			}
			gap = false
			b.WriteRune(r)
		case r >= 0x300 && r <= 0x36f: // the mark of an accented letter
		default:
			gap = true
		}
	}
	s := b.String()
	if len(s) > longestSlug {
		s = s[:longestSlug+1]
		if i := strings.LastIndexByte(s, '-'); i > longestSlug/2 {
			s = s[:i]
		} else {
			s = s[:longestSlug]
		}
	}
	if s == "" {
		return instead
	}
	return s
}

// free returns a name, or the name with the first number from 2 on behind the
// joint with which it is not taken.
func free(name, joint string, first int, taken func(string) bool) string {
	if first == 1 {
		if !taken(name) {
			return name
		}
		first = 2
	}
	for n := first; ; n++ {
		if s := name + joint + strconv.Itoa(n); !taken(s) {
			return s
		}
	}
}
