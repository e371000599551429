package main

import (
	"bytes"
	"encoding/csv"
	"html"
	"io/fs"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/taut/engine/unit"
	"example.org/taut/engine/variant"
)

// classDir is the example of a class, from its source to what it handed in.
var classDir = filepath.FromSlash("../../examples/class-set")

// The class of the example, as the manual's chapter on teaching makes it.
const (
	classSeed  = "fieldfare"
	classCount = "30"
	classRate  = "0.3"
)

// habit is how an invented student fills the numbers in: from the right ones, in
// the units of the sheet.
type habit struct {
	name string
	fill func(s *classStudent)
	lost map[string]int // what it costs by the marking rules, by the name of the value
	says map[string]string
}

// classStudent is one student with the numbers that are to be handed in.
type classStudent struct {
	*variant.Student
	claims map[string]string
}

// classUnits are the units of the sheet.
var classUnits = []struct{ name, unit string }{{"d", "mm"}, {"area", "mm^2"}, {"slope", "mm/kg"}, {"E", "GPa"}, {"stress", "MPa"}}

// right is a result rounded to the first figure of its expanded uncertainty.
func (s *classStudent) right(name string, factor float64) string {
	for _, u := range classUnits {
		if u.name == name {
			r := s.Results[name]
			un := unit.MustParse(u.unit)
			return roundedTo(un.FromSI(float64(r.Value)*factor), un.FromSI(float64(*r.Expanded)*factor)) + " " + u.unit
		}
	}
	panic(name)
}

func roundedTo(v, U float64) string {
	return strconv.FormatFloat(v, 'f', max(0, -int(math.Floor(math.Log10(U)))), 64)
}

// si is a result in SI.
func (s *classStudent) si(name string) float64 { return float64(s.Results[name].Value) }

// zeroOf is what the student's micrometer reads when closed, in m.
func (s *classStudent) zeroOf(t *testing.T, instrument string) float64 {
	t.Helper()
	m := regexp.MustCompile(instrument + `:\n(?:    .*\n)*?    zero: (-?[\d.]+) mm`).FindStringSubmatch(s.Files["apparatus.yaml"])
	if m == nil {
		t.Fatalf("student %s has no zero of the %s", s.ID, instrument)
	}
	v, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		t.Fatal(err)
	}
	return v * 1e-3
}

// withDiameter works everything out that rests on a diameter in m.
func (s *classStudent) withDiameter(d float64) {
	k := d / s.si("d")
	s.claims["d"] = s.right("d", k)
	s.claims["area"] = s.right("area", k*k)
	s.claims["E"] = s.right("E", 1/(k*k))
	s.claims["stress"] = s.right("stress", 1/(k*k))
}

// classHabits says who has which habit; every other student is right. The marks
// lost follow from the rules that `taut help mark` gives.
func classHabits(t *testing.T) map[string]habit {
	set := func(name, text string) func(*classStudent) { return func(s *classStudent) { s.claims[name] = text } }
	return map[string]habit{
		"002": {name: "a slip in the last step: E is a tenth too great", lost: map[string]int{"E": 4},
			fill: func(s *classStudent) { s.claims["E"] = s.right("E", 1.1) }, says: map[string]string{"E": "wrong"}},
		"003": {name: "leaves the unit of E out", lost: map[string]int{"E": 1},
			fill: func(s *classStudent) { s.claims["E"] = strings.TrimSuffix(s.claims["E"], " GPa") }, says: map[string]string{"E": "the unit is missing"}},
		"005": {name: "takes d for the radius in the area, and goes on rightly", lost: map[string]int{"area": 2},
			fill: func(s *classStudent) {
				s.claims["area"], s.claims["E"], s.claims["stress"] = s.right("area", 4), s.right("E", 0.25), s.right("stress", 0.25)
			}, says: map[string]string{"area": "radius", "E": "right with the student's own"}},
		"027": {name: "forgets the zero of the micrometer, and goes on rightly", lost: map[string]int{"d": 2},
			fill: func(s *classStudent) { s.withDiameter(s.si("d") + s.zeroOf(t, "gauge")) }, says: map[string]string{"d": "wrong", "area": "right with the student's own", "E": "right with the student's own"}},
		"007": {name: "writes MPa for GPa", lost: map[string]int{"E": 1},
			fill: func(s *classStudent) { s.claims["E"] = strings.Replace(s.claims["E"], "GPa", "MPa", 1) }, says: map[string]string{"E": "makes another size of it"}},
		"008": {name: "copies every figure of the calculator", lost: map[string]int{"E": 1, "slope": 1},
			fill: func(s *classStudent) {
				s.claims["E"] = strconv.FormatFloat(s.si("E")/1e9, 'f', 6, 64) + " GPa"
				s.claims["slope"] = strconv.FormatFloat(s.si("slope")*1e3, 'f', 8, 64) + " mm/kg"
			}, says: map[string]string{"E": "too many figures"}},
		"011": {name: "does not get to the end", lost: map[string]int{"E": 4, "stress": 2},
			fill: func(s *classStudent) { s.claims["E"], s.claims["stress"] = "", "" }, says: map[string]string{"E": "nothing was handed in"}},
		"013": {name: "writes a decimal comma", lost: map[string]int{"E": 4},
			fill: func(s *classStudent) { s.claims["E"] = strconv.FormatFloat(s.si("E")/1e9, 'f', 0, 64) + ",5 GPa" }, says: map[string]string{"E": "can't be read"}},
		"014": {name: "forgets the dead load in the stress", lost: map[string]int{"stress": 2},
			fill: func(s *classStudent) {
				top := lastLoad(t, s.Files["pull.csv"])
				s.claims["stress"] = s.right("stress", top/(top+1))
			}},
		"015": {name: "gives the slope in mm", lost: map[string]int{"slope": 1},
			fill: func(s *classStudent) { s.claims["slope"] = strings.TrimSuffix(s.claims["slope"], "/kg") }, says: map[string]string{"slope": "that of another quantity"}},
		"017": {name: "leaves g out of E", lost: map[string]int{"E": 4},
			fill: func(s *classStudent) { s.claims["E"] = s.right("E", 1/9.8124) }, says: map[string]string{"E": "was g left out?"}},
		"018": {name: "writes E in pascals, with a power of ten",
			fill: func(s *classStudent) { s.claims["E"] = strconv.FormatFloat(s.si("E"), 'e', 2, 64) + " Pa" }},
		"020": {name: "writes words for a number", lost: map[string]int{"stress": 2}, fill: set("stress", "about two hundred"), says: map[string]string{"stress": "can't be read"}},
		"022": {name: "states an uncertainty of E of the student's own",
			fill: func(s *classStudent) {
				s.claims["E"] += " ± " + strconv.FormatFloat(float64(*s.Results["E"].Expanded)/1e9, 'f', 0, 64) + " GPa"
			}},
		"026": {name: "has the numbers of student 024", lost: map[string]int{"d": 2, "slope": 3, "stress": 2},
			says: map[string]string{"area": "right with the student's own"}}, // E is about the same of every steel
	}
}

func lastLoad(t *testing.T, table string) float64 {
	t.Helper()
	lines := strings.Split(strings.TrimSpace(table), "\n")
	v, err := strconv.ParseFloat(strings.Split(lines[len(lines)-1], ",")[0], 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Who hands in nothing, and who hands in a record instead of a row.
const (
	classAbsent  = "021"
	classNoticed = "010" // a turn of the screw misread, struck with the reason
	classMissed  = "016" // another, not struck
)

// handedIn are the files that the class hands in, by their names.
func handedIn(t *testing.T, key *variant.Key) map[string]string {
	t.Helper()
	habits := classHabits(t)
	rows := map[string]map[string]string{}
	out := map[string]string{}
	var list strings.Builder
	list.WriteString("id, d, area, slope, E, stress\n")
	for i := range key.Students {
		s := &classStudent{Student: &key.Students[i], claims: map[string]string{}}
		if s.ID == classNoticed {
			s.Results = s.Struck
		}
		for _, u := range classUnits {
			s.claims[u.name] = s.right(u.name, 1)
		}
		if h := habits[s.ID]; h.fill != nil {
			h.fill(s)
		}
		rows[s.ID] = s.claims
		switch s.ID {
		case classAbsent:
			continue
		case classNoticed, classMissed:
			maps.Copy(out, recordOf(t, s))
			continue
		case "026":
			s.claims = rows["024"]
		}
		list.WriteString(s.ID)
		for _, u := range classUnits {
			cell := s.claims[u.name]
			if cell == "" {
				cell = "–"
			}
			if strings.Contains(cell, ",") {
				cell = `"` + cell + `"`
			}
			list.WriteString(", " + cell)
		}
		list.WriteString("\n")
	}
	out["class.csv"] = list.String()
	return out
}

// recordOf is a student's folder, filled in.
func recordOf(t *testing.T, s *classStudent) map[string]string {
	t.Helper()
	out := map[string]string{}
	for name, text := range s.Files {
		switch name {
		case "record.md":
			for _, u := range classUnits {
				text = must(t, text, "stretched_wire."+u.name+" = marks", "stretched_wire."+u.name+" = "+s.claims[u.name]+" marks")
			}
			text = must(t, text, "# author: who took the readings\n# date: when, as 2026-01-31\n", "author: student "+s.ID+" (invented)\ndate: 2026-02-16\n")
			text = must(t, text, "```answer your_conclusion\n", "```answer your_conclusion\n"+classConclusions[s.ID]+"\n")
			for question, answer := range classAnswers[s.ID] {
				text = must(t, text, "```answer "+question+"\n", "```answer "+question+"\n"+answer+"\n")
			}
		case "pull.csv":
			if s.ID == classNoticed {
				f := s.Faults[0]
				text = must(t, text, " "+f.Is+",", " ~"+f.Is+",")
				text = regexp.MustCompile(`(?m)^(.*~.*)$`).ReplaceAllString(text, "$1 # a turn of the screw misread on loading: it should be near "+f.Was)
			}
		}
		out[s.Folder+"/"+name] = text
	}
	return out
}

// classAnswers are what two students wrote.
var classAnswers = map[string]map[string]string{
	classNoticed: {
		"second_wire": "If the support gives, the loaded wire goes down and it looks like stretching.",
		"squared":     "The diameter, because 0.01 mm of half a millimetre is 2 % and it is squared, which makes 4 %.",
		"dead":        "It is there in every reading.",
		"permanent":   "The unloading readings are higher.",
	},
	classMissed: {
		"second_wire": "They would get warm differently.",
		"squared":     "The length, because it is the longest.",
		"dead":        "Because it is small.",
	},
}

// classConclusions are what they concluded.
var classConclusions = map[string]string{
	classNoticed: "The points lie on a straight line when the misread one is left out, and the wire is as stiff as a steel one should be.",
	classMissed:  "The points lie on a straight line but for one. The wire is a little less stiff than the handbook says.",
}

// must replaces the first of what has to be there.
func must(t *testing.T, text, old, new string) string {
	t.Helper()
	if !strings.Contains(text, old) {
		t.Fatalf("there is no %q in\n%s", old, text)
	}
	return strings.Replace(text, old, new, 1)
}

// inClassRoom runs a command as a teacher does, in a folder that holds the
// example.
func inClassRoom(t *testing.T, args ...string) (out, errs string, code int) {
	t.Helper()
	var o, e bytes.Buffer
	code = run(args, strings.NewReader(""), &o, &e)
	return o.String(), e.String(), code
}

// classRoom is a folder with the example in it.
func classRoom(t *testing.T) {
	t.Helper()
	from, err := filepath.Abs(classDir)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.CopyFS(filepath.Join(dir, "examples", "class-set"), os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
	t.Chdir(dir)
}

// classKey makes the variants and reads the key.
func classKey(t *testing.T) *variant.Key {
	t.Helper()
	if _, errs, code := inClassRoom(t, "vary", "examples/class-set/record.md", "--count", classCount, "--seed", classSeed, "--faults", classRate, "-o", "out/class"); code != 0 {
		t.Fatalf("exit code %d: %s", code, errs)
	}
	text, err := os.ReadFile("out/class/key/key.json")
	if err != nil {
		t.Fatal(err)
	}
	key, err := variant.ParseKey(text)
	if err != nil {
		t.Fatal(err)
	}
	return key
}

// TestClassHandedIn: what the class of the example handed in is made from its
// variants and from the habits above, byte for byte; -update writes it anew.
func TestClassHandedIn(t *testing.T) {
	dir, err := filepath.Abs(filepath.Join(classDir, "handed-in"))
	if err != nil {
		t.Fatal(err)
	}
	classRoom(t)
	want := handedIn(t, classKey(t))
	if *update {
		if err := os.RemoveAll(dir); err != nil {
			t.Fatal(err)
		}
		for name, text := range want {
			path := filepath.Join(dir, filepath.FromSlash(name))
			if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
				t.Fatal(err)
			}
		}
	}
	var there []string
	if err := fs.WalkDir(os.DirFS(dir), ".", func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			there = append(there, path)
		}
		return err
	}); err != nil {
		t.Fatal(err)
	}
	if got := slices.Sorted(maps.Keys(want)); !slices.Equal(got, slices.Sorted(slices.Values(there))) {
		t.Errorf("the files are %v, not %v; run with -update", there, got)
	}
	for name, text := range want {
		if b, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name))); err != nil || string(b) != text {
			t.Errorf("%s is not what the class would hand in; run with -update", name)
		}
	}
}

// TestClassIsMarked: every habit costs what the rules say, and no more; so does
// a record, whose fault is noticed or missed.
func TestClassIsMarked(t *testing.T) {
	classRoom(t)
	key := classKey(t)
	out, errs, code := inClassRoom(t, "mark", "out/class", "examples/class-set/handed-in", "-o", "out/marked")
	if code != exitErrors || !strings.Contains(errs, "decimal-comma") || !strings.Contains(errs, "literal-due") {
		t.Errorf("exit code %d: %s", code, errs)
	}
	if want := "29 of 30 handed in, 29 marked; missing: " + classAbsent; !strings.Contains(out, want) {
		t.Errorf("the table does not say %q:\n%s", want, out)
	}
	marks := marksOf(t)
	habits := classHabits(t)
	for i := range key.Students {
		s := &key.Students[i]
		row := marks[s.ID]
		if s.ID == classAbsent {
			if row != nil {
				t.Errorf("student %s handed in nothing and has marks", s.ID)
			}
			continue
		}
		h := habits[s.ID]
		for _, p := range key.Points {
			if p.Kind != variant.PointValue {
				continue
			}
			name := strings.TrimPrefix(p.Name, key.Practical+".")
			if want := strconv.Itoa(p.Marks - h.lost[name]); row[name+" marks"] != want {
				t.Errorf("student %s, who %s, has %s marks for %s, not %s", s.ID, h.name, row[name+" marks"], name, want)
			}
		}
		text := studentPage(t, s.Folder)
		for _, name := range slices.Sorted(maps.Keys(h.says)) {
			if !strings.Contains(text, h.says[name]) {
				t.Errorf("the page of student %s, who %s, does not say %q of %s", s.ID, h.name, h.says[name], name)
			}
		}
	}
	for id, want := range map[string]string{classNoticed: "noticed", classMissed: "missed"} {
		if got := marks[id]["fault"]; got != want {
			t.Errorf("the fault of student %s is %s, not %s", id, got, want)
		}
	}
}

// marksOf reads the class table, by student and heading.
func marksOf(t *testing.T) map[string]map[string]string {
	t.Helper()
	f, err := os.Open("out/marked/class.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]map[string]string{}
	for _, row := range rows[1:] {
		out[row[0]] = map[string]string{}
		for i, h := range rows[0] {
			out[row[0]][h] = row[i]
		}
	}
	return out
}

func studentPage(t *testing.T, folder string) string {
	t.Helper()
	page, err := os.ReadFile("out/marked/" + folder + ".html")
	if err != nil {
		t.Fatal(err)
	}
	return squeezed(html.UnescapeString(tags.ReplaceAllString(string(page), " ")))
}

// teachingChapter is the manual's chapter for the teacher.
const teachingChapter = "../../examples/manual/teaching.md"

// chapterBlocks returns the fenced blocks of the chapter of a kind.
func chapterBlocks(t *testing.T, chapter, kind string) []string {
	t.Helper()
	var out []string
	for _, m := range regexp.MustCompile("(?ms)^```"+kind+"\n(.*?)^```$").FindAllStringSubmatch(chapter, -1) {
		out = append(out, m[1])
	}
	if len(out) == 0 {
		t.Fatalf("the chapter has no block of %s", kind)
	}
	return out
}

// TestTeachingChapter runs the commands of the manual's chapter on teaching, in
// their order, and holds the chapter to what it quotes: every line of its blocks
// of text is in the outputs or on the pages.
func TestTeachingChapter(t *testing.T) {
	text, err := os.ReadFile(teachingChapter)
	if err != nil {
		t.Fatal(err)
	}
	record, err := os.ReadFile(filepath.Join(classDir, "record.md"))
	if err != nil {
		t.Fatal(err)
	}
	classRoom(t)
	said := ""
	commands := 0
	for _, block := range chapterBlocks(t, string(text), "sh") {
		for _, line := range strings.Split(strings.TrimSpace(strings.ReplaceAll(block, "\\\n", "")), "\n") {
			words := strings.Fields(line)
			if words[0] != "taut" {
				t.Fatalf("this is no command of ours: %s", line)
			}
			commands++
			out, errs, code := inClassRoom(t, words[1:]...)
			if want := map[bool]int{true: exitErrors, false: exitOK}[words[1] == "mark"]; code != want {
				t.Fatalf("%s: exit code %d: %s", line, code, errs)
			}
			said += out + errs
		}
	}
	if commands != 4 {
		t.Errorf("%d commands, not four", commands)
	}
	for _, name := range []string{"record.blank.html", "record.worked.html", "class/key/key.html", "class/student-030/record.md", "marked/class.html", "marked/class.csv", "marked/student-010.html"} {
		if _, err := os.Stat("out/" + name); err != nil {
			t.Errorf("the chapter makes no out/%s", name)
		}
	}
	list, err := os.ReadFile("examples/class-set/handed-in/class.csv")
	if err != nil {
		t.Fatal(err)
	}
	said += string(list)
	for _, id := range []string{"005", "010", "027"} {
		said += "\n" + studentPage(t, "student-"+id)
	}
	said = squeezed(said)
	for _, block := range chapterBlocks(t, string(text), "text") {
		for _, line := range strings.Split(strings.TrimSpace(block), "\n") {
			if line = squeezed(line); line != "…" && !strings.Contains(said, line) {
				t.Errorf("the chapter quotes %q, which nothing says", line)
			}
		}
	}
	table := regexp.MustCompile(`(?m)^\| student \|(?:.*\n\|)+.*`).FindString(string(text))
	rows := strings.Split(strings.Replace(table, "| --- ", "", -1), "\n")
	if len(rows) < 5 {
		t.Errorf("the chapter's class table has %d rows", len(rows))
	}
	for _, row := range rows {
		if line := squeezed(strings.ReplaceAll(row, "|", " ")); !strings.Contains(said, line) {
			t.Errorf("the chapter's class table has %q, which nothing says", line)
		}
	}
	for _, block := range chapterBlocks(t, string(text), "markdown") {
		if !strings.Contains(squeezed(string(record)), squeezed(block)) {
			t.Errorf("the chapter quotes what is not in the record:\n%s", block)
		}
	}
	for id, h := range classHabits(t) {
		if !strings.Contains(squeezed(string(text)), "| "+id+" | "+h.name+" |") {
			t.Errorf("the chapter does not say that %s %s", id, h.name)
		}
	}
}
