package archive

import (
	"bufio"
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"time"
)

// line is a line of a ledger, in the one form in which it is written: JSON
// without spaces, the fields in this order.
type line struct {
	N int `json:"n"` // from 1
	// Previous is the SHA-256 sum of the line before, its line end included;
	// zeros in the first.
	Previous  string `json:"previous"`
	Apparatus string `json:"apparatus"` // identity; "" for none
	Bag       string `json:"bag"`
	Record    string `json:"record"` // path below data/source
	Date      string `json:"date"`
	Title     string `json:"title"`
	Amends    string `json:"amends,omitempty"` // APPARATUS/BAG
	// Content stands for what was sealed: the source, the theme and the
	// version of the engine. The same content is not sealed twice.
	Content   string `json:"content"`
	TagSHA256 string `json:"tagmanifest-sha256"` // of tagmanifest-sha256.txt
	TagSHA512 string `json:"tagmanifest-sha512"` // of tagmanifest-sha512.txt
	PublicKey string `json:"public_key,omitempty"`
	// Signature is that of the line without the fields Signature and Sum.
	Signature string `json:"signature,omitempty"`
	// Sum is the SHA-256 sum of the line without this field.
	Sum string `json:"sum,omitempty"`
}

// zeroSum stands before the first line.
var zeroSum = strings.Repeat("0", 2*sha256.Size)

// encode is the line without its line end.
func (l line) encode() []byte {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(l); err != nil {
		panic(err) // a struct of texts and a number can be encoded
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n"))
}

// signed is what the signature is made of.
func (l line) signed() []byte {
	l.Signature, l.Sum = "", ""
	return l.encode()
}

func (l line) sum() string {
	l.Sum = ""
	return sumOf(l.encode())
}

func sumOf(text []byte) string {
	s := sha256.Sum256(text)
	return hex.EncodeToString(s[:])
}

// Entry is a line of a ledger.
type Entry struct {
	N         int    // in the ledger, from 1
	Apparatus string // folder
	Bag       string // folder below that of the apparatus
	Record    string // path of the record below the bag's data/source
	Date      string // of the record, ISO 8601; of the sealing where it has none
	Title     string
	Amends    string // path of the bag that this one amends; "" for none
	AmendedBy string // path of the bag that amends this one; "" for none
	Hash      string // SHA-256 sum of the line, its line end included

	line line
}

// Path is that of the bag below the archive: APPARATUS/BAG.
func (e *Entry) Path() string { return e.Apparatus + "/" + e.Bag }

// Key returns the public key of the line's signature; nil where the line has
// none. It says nothing about whose key it is.
func (e *Entry) Key() ed25519.PublicKey {
	key, err := base64.StdEncoding.DecodeString(e.line.PublicKey)
	if err != nil || len(key) != ed25519.PublicKeySize {
		return nil
	}
	return key
}

// longestLine is the length of the longest line of a ledger, in bytes.
const longestLine = 1 << 20

// ledger is what was read of one.
type ledger struct {
	entries  []*Entry
	findings []*Finding
	broken   bool // the chain: what is said of one line is not repeated at the next
	last     string
	bags     map[string]int // line of each bag
}

// readLedger reads the ledger of an apparatus' folder and follows its chain.
// What can be read of a broken one is returned with findings.
func readLedger(root *os.Root, folder string) *ledger {
	g := &ledger{last: zeroSum, bags: map[string]int{}}
	path := folder + "/" + ledgerName
	f, err := openRegular(root, path)
	if err != nil {
		x := unreadable(path, err)
		if errors.Is(err, fs.ErrNotExist) {
			x.Message = "the apparatus has no ledger"
		}
		g.findings = append(g.findings, x)
		return g
	}
	defer f.Close()
	in := bufio.NewReaderSize(f, 64<<10)
	for n := 1; ; n++ {
		text, err := readLine(in)
		if err == io.EOF && len(text) == 0 {
			if n == 1 {
				g.findings = append(g.findings, fault(path, "empty", "the ledger holds no line", "copy it back from another copy of the archive"))
			}
			return g
		}
		if err != nil && err != io.EOF {
			g.findings = append(g.findings, unreadable(path, err))
			return g
		}
		g.add(folder, n, text)
	}
}

// readLine reads a line with its line end; the last may have none.
func readLine(in *bufio.Reader) ([]byte, error) {
	var text []byte
	for {
		piece, err := in.ReadSlice('\n')
		if len(text)+len(piece) > longestLine {
			return nil, &tooLarge{longestLine}
		}
		text = append(text, piece...)
		if err != bufio.ErrBufferFull {
			return text, err
		}
	}
}

// add reads a line and holds it against the one before.
func (g *ledger) add(folder string, n int, text []byte) {
	complain := func(slug, message, hint string) {
		f := fault(folder+"/"+ledgerName, slug, message, hint)
		f.Line = n
		g.findings = append(g.findings, f)
	}
	const restore = "the line was changed after it was sealed; copy the ledger back from another copy of the archive"
	before := g.last
	g.last = sumOf(text)
	l, err := parseLine(text)
	if err != nil {
		complain("bad-line", err.Error(), restore)
		g.broken = true
		return
	}
	switch {
	case l.Sum != l.sum():
		complain("bad-line", "the line does not agree with its own sum", restore)
		g.broken = true
		return
	case l.N != n && !g.broken:
		complain("broken-chain", fmt.Sprintf("this is line %d of the file, but was sealed as line %d", n, l.N),
			"lines were removed, added or put into another order")
	case l.Previous != before && !g.broken:
		complain("broken-chain", "the line does not name the sum of the line before", "the line before was exchanged")
	case len(g.entries) > 0 && l.Apparatus != g.entries[len(g.entries)-1].line.Apparatus:
		complain("broken-chain", fmt.Sprintf("the line is of apparatus %q, those before of %q", l.Apparatus, g.entries[len(g.entries)-1].line.Apparatus),
			"it belongs to another ledger")
	}
	g.broken = l.N != n || l.Previous != before
	if first, twice := g.bags[l.Bag]; twice {
		complain("listed-twice", fmt.Sprintf("`%s` is listed here and on line %d", l.Bag, first), "a bag has one line")
		return
	}
	g.bags[l.Bag] = n
	g.entries = append(g.entries, &Entry{N: n, Apparatus: folder, Bag: l.Bag, Record: l.Record, Date: l.Date, Title: l.Title, Amends: l.Amends,
		Hash: g.last, line: *l})
}

// parseLine reads a line of a ledger. There is one way only to write it.
func parseLine(text []byte) (*line, error) {
	body, whole := bytes.CutSuffix(text, []byte("\n"))
	if !whole {
		return nil, errors.New("the line has no end: the file was cut off")
	}
	l := &line{}
	if err := json.Unmarshal(body, l); err != nil {
		return nil, errors.New("this is no line of a ledger")
	}
	if !bytes.Equal(l.encode(), body) {
		return nil, errors.New("the line is not written as a ledger's lines are")
	}
	return l, l.check()
}

// check holds the fields to their forms, so that names can be used as paths.
func (l *line) check() error {
	_, badDate := time.Parse(time.DateOnly, l.Date)
	key, badKey := base64.StdEncoding.DecodeString(l.PublicKey)
	signature, badSignature := base64.StdEncoding.DecodeString(l.Signature)
	switch {
	case !isSlug(l.Bag):
		return fmt.Errorf("%q is no name of a bag", l.Bag)
	case !fs.ValidPath(l.Record) || l.Record == ".":
		return fmt.Errorf("%q is no path of a record", l.Record)
	case badDate != nil:
		return fmt.Errorf("%q is no date", l.Date)
	case l.Amends != "" && !isBagPath(l.Amends):
		return fmt.Errorf("%q is no path of a bag", l.Amends)
	case (l.PublicKey == "") != (l.Signature == "") || badKey != nil || badSignature != nil,
		l.PublicKey != "" && (len(key) != ed25519.PublicKeySize || len(signature) != ed25519.SignatureSize):
		return errors.New("the signature is not whole")
	}
	return nil
}
