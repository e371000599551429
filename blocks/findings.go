package blocks

import (
	"fmt"
	"regexp"
	"strings"

	"golang.org/x/text/unicode/norm"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

func errorAt(at source.Span, slug, message, hint string) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: slug, At: at, Message: message, Hint: hint}
}

func cautionAt(at source.Span, slug, message, hint string) *finding.Finding {
	return &finding.Finding{Severity: finding.Caution, Slug: slug, At: at, Message: message, Hint: hint}
}

// badValue: `given=perhaps`.
func badValue(at source.Span, key, value, want string) *finding.Finding {
	switch value {
	case "a list or map":
	case "":
		value = "nothing"
	default:
		value = "`" + value + "`"
	}
	return errorAt(at, "bad-value", fmt.Sprintf("%s is no value for `%s`", value, key), "it should be "+want)
}

// unknownKey: a key of a settings body that the kind does not know.
func unknownKey(at source.Span, key, where string, known []string) *finding.Finding {
	hint := "known are " + strings.Join(known, ", ")
	if h := finding.DidYouMean(key, known); h != "" {
		hint = h
	}
	return errorAt(at, "unknown-key", fmt.Sprintf("%s has no key `%s`", where, key), hint)
}

// missingKey: a fit without `y:`.
func missingKey(at source.Span, key, where string) *finding.Finding {
	return errorAt(at, "missing-key", fmt.Sprintf("%s needs a key `%s`", where, key), fmt.Sprintf("add a line `%s: …`", key))
}

// emptyTable: a data block without a heading.
func emptyTable(at source.Span) *finding.Finding {
	return errorAt(at, "empty-table", "there is no table here", "the first line holds the headings, `load / kg, up / mm @screw`")
}

// columnTwice: two columns of one name.
func columnTwice(at source.Span, name string, before source.Span) *finding.Finding {
	f := errorAt(at, "defined-twice", fmt.Sprintf("there are two columns `%s`", name), "give one of them another name")
	f.Also = []finding.Place{{At: before, What: "the first is here"}}
	return f
}

// badHeading: `load in kg`.
func badHeading(at source.Span, text string, decimal byte) *finding.Finding {
	hint := "write `name / unit` or `name / unit @instrument`; a name is a letter followed by letters, digits and `_`"
	m := loosely.FindStringSubmatch(text)
	switch {
	case strings.TrimSpace(text) == "":
		return errorAt(at, "bad-heading", "this column has no heading", hint)
	case decimal == ',' && strings.Contains(text, ","):
		hint = "with `decimal=comma` the cells are separated by `;` or tabs, those of the headings too"
	case m != nil:
		ours := strings.Join(strings.Fields(m[1]), "_")
		if m[2]+m[3] != "" {
			ours += " / " + m[2] + m[3]
		}
		if m[4] != "" {
			ours += " " + m[4]
		}
		if ours != text && !strings.Contains(ours, " / /") {
			hint = "write `" + ours + "`; a name has no space in it, and its unit follows ` / `"
		}
	}
	return errorAt(at, "bad-heading", fmt.Sprintf("`%s` is no heading", text), hint)
}

// loosely matches headings as they are written elsewhere: `load (kg)`,
// `load/kg`, `screw reading / mm @screw`.
var loosely = regexp.MustCompile(`^(\pL[\pL\d_]*(?: [\pL\d_]+)*)(?: *[(\[]([^)\]/]+)[)\]]| */ *([^/@]*[^/@ ]))? *(@[\pL\d_]+)?$`)

// noReason: a struck row without `# …`.
func noReason(at source.Span, what string) *finding.Finding {
	f := errorAt(at, "no-reason", "this "+what+" is struck without a reason", "write the reason at the end of the line: `# misread by one turn of the screw`")
	if what == "cell" {
		f.Severity = finding.Caution
	}
	return f
}

// raggedRow: a row with more or fewer cells than there are headings.
func raggedRow(at source.Span, got, want int) *finding.Finding {
	hint := "write `–` for what was not read"
	if got > want {
		hint = "give every cell a heading; one number has no separator within it"
	}
	if m := grouped.FindString(at.Text()); m != "" && got > want {
		hint = "if `" + m + "` is one number, write `" + strings.ReplaceAll(m, ",", "") + "`"
	}
	return errorAt(at, "ragged-row", fmt.Sprintf("this row has %s, the table %s", countOf(got, "cell"), countOf(want, "column")), hint)
}

// grouped matches a number with its thousands set apart by commas.
var grouped = regexp.MustCompile(`\b[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?\b`)

// moreFaults: what is not told one by one.
func moreFaults(at source.Span, what string) *finding.Finding {
	return errorAt(at, "more-faults", "and "+what, "mend those that are told, and look at their like")
}

func countOf(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// emptyCell: nothing between two commas.
func emptyCell(at source.Span, column string) *finding.Finding {
	return errorAt(at, "empty-cell", fmt.Sprintf("this cell of `%s` is empty", column), "write `–` for what was not read, or strike the row with `~` and a reason")
}

// badCell: `3.l2`, `NaN`, `inf`. Mixed says that other cells of the column are
// text too.
func badCell(at source.Span, text, column string, decimal byte, mixed bool) *finding.Finding {
	hint := "write digits with a decimal point, or `–` for what was not read"
	if decimal == ',' {
		hint = "write digits with a decimal comma, or `–` for what was not read"
	}
	switch plain := strings.TrimLeft(text, "+-−–"); {
	case numberWord(text):
		hint = "only finite numbers can be read off an instrument; write `–` for what was not read"
	case decimal == ',' && strings.Contains(text, "."):
		hint = "in a table with `decimal=comma` a point could be meant either way: write `1,234` for 1.234 and `1234` for a thousand"
	case strings.HasPrefix(text, "–") && isNumber(plain):
		hint = "write a hyphen or a minus sign: `-" + plain + "`"
	case isDigits(strings.TrimPrefix(plain, ".")):
		hint = "write `0" + plain + "`"
	case isDigits(strings.TrimSuffix(plain, ".")):
		hint = "write `" + strings.TrimSuffix(text, ".") + "`"
	case isNumber(norm.NFKC.String(text)):
		hint = "write `" + norm.NFKC.String(text) + "`, in plain digits"
	case isDigits(strings.Join(strings.Fields(text), "")):
		hint = "write the digits of one number together: `" + strings.Join(strings.Fields(text), "") + "`"
	case mainScale.MatchString(text):
		hint = "main scale + divisions is read where the heading names an instrument with `pitch` and `divisions`: `x / mm @screw`"
	case decimal != ',' && isNumber(strings.Replace(text, ",", ".", 1)):
		hint = "for decimal commas write `decimal=comma` in the head of the block, and `;` between the cells"
	case mixed:
		hint += "; a column of labels holds no numbers"
	}
	return errorAt(at, "bad-cell", fmt.Sprintf("`%s` in `%s` is not a number", text, column), hint)
}

var mainScale = regexp.MustCompile(`^\d+(?:\.\d+)? *\+ *\d+$`)

// cellRange: `1e400`.
func cellRange(at source.Span, text, column string) *finding.Finding {
	return errorAt(at, "bad-cell", fmt.Sprintf("`%s` in `%s` is beyond the numbers that can be computed with", text, column), "look at the exponent and at the unit of the heading")
}

// badDivisions: `3+120` on a drum of a hundred divisions.
func badDivisions(at source.Span, text string, err error) *finding.Finding {
	return errorAt(at, "bad-divisions", fmt.Sprintf("`%s` is not a reading of this instrument: %s", text, err), "write main scale + divisions of the drum, `3+12`")
}

// badMapping: a body line of a data block with a file that maps and strikes
// nothing.
func badMapping(at source.Span) *finding.Finding {
	return errorAt(at, "bad-mapping", "this line maps no heading and strikes no row of the file", "write `up / mm @screw = their heading` or `~4 # reason`")
}

// noSuchHeading: a mapping of a heading that the file has not.
func noSuchHeading(at source.Span, name string, heads []record.TableCell) *finding.Finding {
	var known []string
	for _, h := range heads {
		known = append(known, h.Text)
	}
	hint := "its headings are " + strings.Join(known, ", ")
	if h := finding.DidYouMean(name, known); h != "" {
		hint = h
	}
	return errorAt(at, "no-such-heading", fmt.Sprintf("the file has no heading `%s`", name), hint)
}

// noSuchRow: `~40` of a file of eight rows.
func noSuchRow(at source.Span, number string, rows int) *finding.Finding {
	return errorAt(at, "no-such-row", fmt.Sprintf("there is no row `%s`: the file has %d", number, rows), "rows are counted from 1, below the headings")
}
