package quantity

import "strings"

// Piece is a part of a sentence that holds numbers: words as they stand, or a
// number to be set like any other.
type Piece struct {
	Words  string
	Number Display // set where Words is ""
}

// Sentence is a text with the numbers in it apart, so that each printer sets
// them as it sets all others.
type Sentence []Piece

// Words is the sentence of these words alone.
func Words(text string) Sentence { return Sentence{{Words: text}} }

func (s *Sentence) words(text string) { *s = append(*s, Piece{Words: text}) }

func (s *Sentence) number(d Display) { *s = append(*s, Piece{Number: d}) }

// Text returns the sentence in plain text, with a decimal point or a decimal
// comma.
func (s Sentence) Text(comma bool) string {
	var b strings.Builder
	for _, p := range s {
		if p.Words == "" {
			b.WriteString(p.Number.Text(comma))
		} else {
			b.WriteString(DecimalSign(p.Words, comma))
		}
	}
	return b.String()
}

// DecimalSign returns a short text that was printed with decimal points with
// those, or with decimal commas.
func DecimalSign(text string, comma bool) string {
	if !comma {
		return text
	}
	b := []byte(text)
	for i := 1; i+1 < len(b); i++ {
		if b[i] == '.' && isDigit(b[i-1]) && isDigit(b[i+1]) {
			b[i] = ','
		}
	}
	return string(b)
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }
