package archive

import (
	"bytes"
	"crypto/sha256"
	"crypto/sha512"
	"encoding/hex"
	"fmt"
	"hash"
	"regexp"
	"sort"
	"strings"
	"unicode/utf8"
)

// longestManifest is the size of the largest manifest that is read, in bytes.
const longestManifest = 16 << 20

// algorithm is a way to make sums, as RFC 8493 names it (2.4).
type algorithm struct {
	name string
	new  func() hash.Hash
	size int // of a sum in hexadecimal digits
}

// algorithms are those of our bags.
var algorithms = []algorithm{
	{"sha256", sha256.New, 2 * sha256.Size},
	{"sha512", sha512.New, 2 * sha512.Size},
}

// manifests names the manifest and the tag manifest.
func (a algorithm) manifests() (payload, tag string) {
	return "manifest-" + a.name + ".txt", "tagmanifest-" + a.name + ".txt"
}

func (a algorithm) of(text []byte) string {
	h := a.new()
	h.Write(text)
	return hex.EncodeToString(h.Sum(nil))
}

// sums are those of one file, by the names of the algorithms.
type sums map[string]string

func sumsOf(text []byte) sums {
	out := sums{}
	for _, a := range algorithms {
		out[a.name] = a.of(text)
	}
	return out
}

// escape and unescape write and read the characters that RFC 8493 2.1.3 wants
// percent-encoded, and no others.
var (
	escape   = strings.NewReplacer("%", "%25", "\n", "%0A", "\r", "%0D")
	unescape = strings.NewReplacer("%25", "%", "%0A", "\n", "%0a", "\n", "%0D", "\r", "%0d", "\r")
)

// formatManifest is a manifest, sorted by path, in the form that sha256sum
// reads too.
func formatManifest(a algorithm, files map[string]sums) []byte {
	var paths []string
	for p := range files {
		paths = append(paths, p)
	}
	sort.Strings(paths)
	var b bytes.Buffer
	for _, p := range paths {
		fmt.Fprintf(&b, "%s  %s\n", files[p][a.name], escape.Replace(p))
	}
	return b.Bytes()
}

var (
	manifestForm = regexp.MustCompile(`^([0-9A-Fa-f]+)[ \t]+(.+)$`)
	strayPercent = regexp.MustCompile(`%(?:[^02]|2[^5]|0[^AaDd]|.?$)`)
)

// manifest is what was read of one.
type manifest struct {
	sums     map[string]string // by path within the bag
	findings []*Finding
}

// mostOfOne is how many findings there are on one file or bag at most.
const mostOfOne = 30

// parseManifest reads a manifest; at is its own path. It is lenient as RFC 8493
// is, in line ends and blanks, but a line of ours never has others: each is a
// finding. Lines with paths that lead out of the bag, or out of where the
// manifest's files are, are left out of the sums.
func parseManifest(at string, a algorithm, payload bool, text []byte) *manifest {
	m := &manifest{sums: map[string]string{}}
	complain := func(line int, slug, message, hint string) {
		if len(m.findings) < mostOfOne {
			f := fault(at, slug, message, hint)
			f.Line = line
			m.findings = append(m.findings, f)
		}
	}
	const rewritten = "the manifest was not written by a sealing, or changed since"
	if !utf8.Valid(text) {
		complain(0, "bad-manifest", "the manifest is not in UTF-8", rewritten)
		return m
	}
	if bytes.ContainsRune(text, '\r') {
		complain(0, "line-ends", "the manifest has line ends of another system (CR)", rewritten)
		text = bytes.ReplaceAll(bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n")), []byte("\r"), []byte("\n"))
	}
	if len(text) == 0 {
		complain(0, "bad-manifest", "the manifest is empty", rewritten)
		return m
	}
	if !bytes.HasSuffix(text, []byte("\n")) {
		complain(0, "bad-manifest", "the last line has no end: the file was cut off", rewritten)
	}
	for i, l := range strings.Split(strings.TrimSuffix(string(text), "\n"), "\n") {
		parts := manifestForm.FindStringSubmatch(l)
		switch {
		case parts == nil:
			complain(i+1, "bad-manifest", fmt.Sprintf("%s is no line of a manifest", quote(l)), "a line is a sum, two spaces and a path")
			continue
		case len(parts[1]) != a.size:
			complain(i+1, "bad-manifest", fmt.Sprintf("the sum has %d digits; those of %s have %d", len(parts[1]), a.name, a.size), rewritten)
			continue
		case strayPercent.MatchString(parts[2]):
			complain(i+1, "bad-manifest", fmt.Sprintf("%s has a percent sign that stands for nothing", quote(parts[2])),
				"%25, %0A and %0D are the only ones (RFC 8493, 2.1.3)")
			continue
		}
		path := unescape.Replace(parts[2])
		if why := unfit(path, payload); why != "" {
			complain(i+1, "path-outside", fmt.Sprintf("the path %s %s", quote(path), why), "nothing was read there; "+rewritten)
			continue
		}
		if _, twice := m.sums[path]; twice {
			complain(i+1, "listed-twice", fmt.Sprintf("%s is listed twice", quote(path)), rewritten)
			continue
		}
		m.sums[path] = strings.ToLower(parts[1])
	}
	return m
}

// quote is a piece of a foreign text, of a length that can be shown.
func quote(s string) string {
	if r := []rune(s); len(r) > 80 {
		s = string(r[:80]) + "…"
	}
	return fmt.Sprintf("%q", s)
}

// unfit says why a path may not stand in a manifest, "" if it may.
func unfit(path string, payload bool) string {
	switch {
	case strings.HasPrefix(path, "/"):
		return "is absolute"
	case strings.HasPrefix(path, "~"):
		return "begins with a tilde, which some programs take for a home folder"
	case strings.Contains(path, `\`):
		return "holds a backslash, which some systems take for a separator"
	case len(path) > 1 && path[1] == ':':
		return "begins with a drive"
	case strings.ContainsRune(path, 0):
		return "holds a NUL"
	}
	for _, e := range strings.Split(path, "/") {
		switch e {
		case "..":
			return "leads upwards"
		case ".", "":
			return "is not written plainly"
		}
	}
	switch {
	case payload && !strings.HasPrefix(path, "data/"):
		return "is not below data/, where the payload is"
	case !payload && strings.HasPrefix(path, "data/"):
		return "is of the payload, not of a tag file"
	case !payload && strings.HasPrefix(path, "tagmanifest-"):
		return "is of a tag manifest, which none lists"
	}
	return ""
}
