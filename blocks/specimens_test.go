package blocks_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/build"
	"example.org/taut/engine/results"
	"example.org/taut/engine/view"
)

const frameFile = `apparatus: frame 9
identity: F-9
place: a room
instruments:
  screw:
    what: a screw
    pitch: 1 mm
    divisions: 100
    zero: [+0.02 mm, +0.04 mm]
    serial: S-1
    calibrations:
      - {date: 2025-01-10, calibration: ± 0.004 mm k=2, due: 2026-01-10, certificate: C-1, scale: ± 10 %}
      - {date: 2026-01-20, calibration: ± 0.002 mm k=2, due: 2027-01-20, certificate: C-2, scale: ± 20 %}
  tape: {resolution: –}
specimens:
  - {name: W-2, fitted: 2026-02-01, material: steel, certified: {E: 205 GPa ± 3 GPa k=2, L: 2 m}}
  - {name: W-1, fitted: 2025-02-01, removed: 2026-02-01, reason: it snapped, what: a wire, temper: hard drawn}
`

func equipped(t *testing.T, date string, as ...view.View) (*results.File, *build.Output) {
	t.Helper()
	dir := t.TempDir()
	text := "---\napparatus: f.yaml\n"
	if date != "" {
		text += "date: " + date + "\n"
	}
	text += "---\n```data t\nx / mm @screw\n2.02\n```\n"
	for name, body := range map[string]string{"r.md": text, "f.yaml": frameFile} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(body), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	o := build.Options{Kinds: blocks.All(), Library: blocks.Built(), Themes: builtIn{}, Version: "test"}
	for _, v := range as {
		o.View = v
	}
	out, err := build.Record(filepath.Join(dir, "r.md"), o)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range out.Findings {
		if date > "2025-02" && date < "2027-01-21" {
			t.Error(f)
		}
	}
	return out.Results, out
}

// TestEquipment: what a record was made with is that of its date.
func TestEquipment(t *testing.T) {
	for _, c := range []struct{ date, specimen, calibrated, due, certificate, cautions string }{
		{"2026-03-12", "W-2", "2026-01-20", "2027-01-20", "C-2", ""},
		{"2026-02-01", "W-2", "2026-01-20", "2027-01-20", "C-2", ""}, // the day on which it was changed
		{"2026-01-31", "W-1", "2026-01-20", "2027-01-20", "C-2", ""},
		{"2025-12-31", "W-1", "2025-01-10", "2026-01-10", "C-1", ""},
		{"2025-01-31", "", "2025-01-10", "2026-01-10", "C-1", "no-specimen"},
		{"2024-12-31", "", "", "", "", "no-calibration no-specimen"},
		{"2027-01-21", "W-2", "2026-01-20", "2027-01-20", "C-2", "calibration-overdue"},
		{"", "W-2", "2026-01-20", "2027-01-20", "C-2", ""},
	} {
		r, out := equipped(t, c.date)
		name := ""
		if r.Specimen != nil {
			name = r.Specimen.Name
		}
		in := r.Instruments["screw"]
		var slugs []string
		for _, f := range out.Findings {
			slugs = append(slugs, f.Slug)
		}
		if name != c.specimen || in.Calibrated != c.calibrated || in.Due != c.due || in.Certificate != c.certificate || strings.Join(slugs, " ") != c.cautions {
			t.Errorf("%s: %s, %+v, %v", c.date, name, in, slugs)
		}
	}
}

// TestEquipmentNumbers reckons by hand: the mean of two zero readings, 0.03 mm,
// with the resolution once, 0.005 mm/√3, and their scatter, 0.01 mm.
func TestEquipmentNumbers(t *testing.T) {
	r, out := equipped(t, "2026-03-12")
	in := r.Instruments["screw"]
	if z := in.Zero; z == nil || !close12(float64(z.Value), 3e-5) || !close12(float64(*z.U), 1.0408329997330664e-05) || z.Unit != "m" || len(z.Readings) != 2 || !close12(float64(z.Readings[1]), 4e-5) {
		t.Errorf("%+v", in.Zero)
	}
	if in.What != "a screw" || in.Serial != "S-1" || !close12(float64(in.Resolution.Value), 1e-5) || in.Resolution.Display != "0.01 mm" {
		t.Errorf("%+v %+v", in, in.Resolution)
	}
	if tape, ok := r.Instruments["tape"]; !ok || tape.Resolution != nil || tape.Zero != nil {
		t.Errorf("%+v", tape)
	}
	if a := r.Apparatus; a == nil || *a != (results.Apparatus{Identity: "F-9", Name: "frame 9", Place: "a room", Path: "f.yaml"}) {
		t.Errorf("%+v", a)
	}
	if all := r.Specimens; len(all) != 2 || all[0].Name != "W-1" || all[0].Reason != "it snapped" || all[1].Name != "W-2" {
		t.Errorf("%+v", all)
	}
	e := r.Specimen.Certified["E"]
	if !close12(float64(e.Value), 205e9) || !close12(float64(*e.U), 1.5e9) || e.Unit != "Pa" || e.Line != 16 || !strings.Contains(e.Display, "205.0 ± 2.9") {
		t.Errorf("%+v", e)
	}
	if l := r.Specimen.Certified["L"]; l.U != nil || l.Expanded != nil {
		t.Errorf("%+v", l)
	}
	text, err := r.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	back, err := results.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := back.Bytes(); err != nil || !bytes.Equal(again, text) {
		t.Errorf("read back and written again, the file differs: %v", err)
	}
	page := strings.ReplaceAll(string(out.HTML), "\u00a0", " ")
	for _, want := range []string{"Specimen fitted to the apparatus", "E = 205 GPa ± 3 GPa, expanded (k = 2)", "C\u20112", "± 0.002 mm, expanded (k = 2); scale ± 20 %"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if _, blank := equipped(t, "2026-03-12", view.AsBlank); strings.Contains(string(blank.HTML), "205") || !strings.Contains(string(blank.HTML), "W\u20112") {
		t.Error("a blank sheet tells the certified value, or not the specimen")
	}
	// The scale of the calibration in force acts: u = 2 mm · 20 % / √3.
	if u := r.Columns["t.x"]; !close12(float64(u.Values[0]), 1.99e-3) {
		t.Errorf("%+v", u)
	}
}

func close12(a, b float64) bool { return a-b <= 1e-12*b && b-a <= 1e-12*b }
