package variant

import (
	"fmt"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

func fault(at source.Span, slug, message, hint string) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: slug, At: at, Message: message, Hint: hint}
}

func caution(at source.Span, slug, message, hint string) *finding.Finding {
	return &finding.Finding{Severity: finding.Caution, Slug: slug, At: at, Message: message, Hint: hint}
}

// commaNumber: `197,3 GPa`.
func commaNumber(at source.Span, text string) *finding.Finding {
	return fault(at, "decimal-comma", fmt.Sprintf("`%s` has a comma in its number: it may be a decimal sign or part thousands, and is not read", text), "write a decimal point")
}

// notAsked: a value that no marking point has.
func notAsked(at source.Span, name string, known []string) *finding.Finding {
	hint := finding.DidYouMean(name, known)
	if hint == "" {
		hint = "asked for are " + strings.Join(known, ", ")
	}
	return caution(at, "not-asked", fmt.Sprintf("`%s` is no marking point, and is not marked", name), hint)
}

// claimedTwice: two different numbers for one value.
func claimedTwice(at source.Span, name string, before *claim) *finding.Finding {
	f := caution(at, "claimed-twice", fmt.Sprintf("`%s` is given twice, with different numbers: the first is marked", name), "leave one")
	f.Also = []finding.Place{{At: before.at, What: "the first is here"}}
	return f
}

// unknownStudent: a number that the key has not.
func unknownStudent(at source.Span, id string, known []string) *finding.Finding {
	hint := finding.DidYouMean(id, known)
	if hint == "" {
		hint = "is this the key of that class?"
	}
	return fault(at, "unknown-student", fmt.Sprintf("the key has no student `%s`", id), hint)
}

// twiceStudent: two submissions of one student.
func twiceStudent(at source.Span, id string, before source.Span) *finding.Finding {
	f := fault(at, "student-twice", fmt.Sprintf("student %s has handed in more than once: this one is not marked", id), "leave the one that counts")
	f.Also = []finding.Place{{At: before, What: "the one that is marked is here"}}
	return f
}

// nobodys: a record that says not whose it is, with readings that the key has
// not.
func nobodys(at source.Span) *finding.Finding {
	return fault(at, "unknown-student", "neither the name of the folder nor the readings say whose this is", "name the folder as it was handed out, `student-001`; is this the key of that class?")
}

// notYours: the readings of another student of the class.
func notYours(at source.Span, id, other string, lenient bool) *finding.Finding {
	f := fault(at, "other-readings", fmt.Sprintf("this is handed in as student %s, but its readings are those of student %s: no marks are given", id, other), "ask; `--lenient` marks it on the readings that it holds")
	if lenient {
		f.Severity, f.Hint = finding.Caution, ""
		f.Message = fmt.Sprintf("this is handed in as student %s, and marked on the readings of student %s that it holds", id, other)
	}
	return f
}

// foreign: readings of nobody in the class.
func foreign(at source.Span, id string, odd, cells int) *finding.Finding {
	return fault(at, "other-readings", fmt.Sprintf("this is handed in as student %s, but %d of %d readings are others than were given out, or gone, and they are nobody's in this key: no marks are given", id, odd, cells), "is this the key of that class?")
}

// edited: a reading that is another than was given out.
func edited(p pair) *finding.Finding {
	return caution(p.now.At, "edited-reading", fmt.Sprintf("the reading %s is `%s`, given out was `%s`: it is marked with the one given out", placeOf(p.given), p.now.Text, p.given.Text), "a reading that is not trusted is struck, with the reason")
}

func moreEdited(at source.Span, n int) *finding.Finding {
	return caution(at, "edited-reading", fmt.Sprintf("%d further readings are others than were given out", n), "")
}

// removed: rows of one table that are gone.
func removed(at source.Span, list []block.Reading) *finding.Finding {
	const hint = "a reading that is not trusted is struck and stays in sight"
	if r := list[0]; len(list) == 1 {
		return caution(at, "removed-reading", fmt.Sprintf("row %d of `%s` is gone: it is marked as if it were struck, without a reason", r.Row, r.Table), hint)
	}
	return caution(at, "removed-reading", fmt.Sprintf("rows %s of `%s` are gone: they are marked as if they were struck, without a reason", rowNumbers(list), list[0].Table), hint)
}

// rowNumbers lists the rows of readings: "2, 3 and 5".
func rowNumbers(list []block.Reading) string {
	var out strings.Builder
	for i, r := range list {
		switch {
		case i == 0:
		case i == len(list)-1:
			out.WriteString(" and ")
		default:
			out.WriteString(", ")
		}
		fmt.Fprint(&out, r.Row)
	}
	return out.String()
}

// lacking: a table of which most rows are gone.
func lacking(at source.Span, l lack) *finding.Finding {
	what := fmt.Sprintf("%d of the %d rows of `%s` that were given out are gone", l.gone, l.of, l.first.Table)
	if l.gone == l.of {
		what = fmt.Sprintf("all %d rows of `%s` that were given out are gone", l.of, l.first.Table)
		if l.of == 1 {
			what = fmt.Sprintf("the row of `%s` that was given out is gone", l.first.Table)
		}
	}
	return caution(at, "removed-reading", what+": it is marked with those given out", "a reading that is not trusted is struck and stays in sight")
}

// added: a row that nobody gave.
func added(r block.Reading) *finding.Finding {
	return caution(r.At, "added-reading", fmt.Sprintf("row %d of `%s` was not given out: it is left out of the marking", r.Row, r.Table), "")
}

// lost: a column that is gone.
func lost(at source.Span, name string) *finding.Finding {
	return caution(at, "removed-reading", fmt.Sprintf("the column `%s` is gone: it is marked with the one given out", name), "")
}

// otherRecord: something else than readings was changed.
func otherRecord(at source.Span, name, now, given string) *finding.Finding {
	return caution(at, "edited-record", fmt.Sprintf("worked out as handed in, `%s` is %s, with what was given out it is %s: something else than the readings was changed, such as an instrument, a constant or what is bound", name, now, given), "it is marked with what was given out")
}

// keyDiffers: the key's own results are not those of its files.
func keyDiffers(at source.Span, id, name, key, now string) *finding.Finding {
	return caution(at, "key-differs", fmt.Sprintf("the key says %s = %s for student %s, its own readings give %s: the latter is used", name, key, id, now), "make the variants anew, or look who changed the key")
}

// headTwice: two columns of one name in a list.
func headTwice(at source.Span, name string) *finding.Finding {
	return fault(at, "defined-twice", fmt.Sprintf("the list has two columns `%s`: the first is read", name), "name them apart")
}

// noID: a list that says not whose its numbers are.
func noID(at source.Span) *finding.Finding {
	return fault(at, "list-form", "the list has no column `id`: nothing of it is marked", "head a column `id`, and one for each value, `E / GPa`; or the columns `id, name, value`")
}

func noIDInRow(at source.Span) *finding.Finding {
	return fault(at, "list-form", "this row has no `id`: it is not marked", "write the student's number in it")
}

// raggedList: a row with more or fewer cells than headings; a decimal comma
// makes one.
func raggedList(at source.Span, cells, heads int) *finding.Finding {
	return fault(at, "ragged-row", fmt.Sprintf("the row has %d cells, the list has %d headings: it is not marked", cells, heads), "a comma within a number parts it in two: write a decimal point")
}

func emptyList(at source.Span) *finding.Finding {
	return fault(at, "list-form", "the list holds no student", "")
}

// EmptyFolder reports a folder without a submission.
func EmptyFolder(name string) *finding.Finding {
	return fault(source.NewFile(name, nil).Span(0, 0), "no-submission", "there is no submission in this folder", "a submission is a student's folder with record.md, or a list NAME.csv or NAME.json")
}

// Unreadable reports a file that cannot be opened.
func Unreadable(name string, err error) *finding.Finding {
	return fault(source.NewFile(name, nil).Span(0, 0), "cannot-open", err.Error(), "nothing of it is marked")
}
