package main

import (
	"fmt"
	"strings"
)

// yearDays is how many days the records are spread over, from firstDay on.
const (
	firstDay = "2025-03-10"
	yearDays = 350
)

// wire is a specimen and what is true of it.
type wire struct {
	name, what, certified, reason string
	from                          float64 // the part of the year from which on it is fitted
	truths                        map[string]string
}

// frame is an apparatus: its method, its instruments and what is true of them
// in a part of the year, from 0 to 1.
type frame struct {
	identity, name, result, title, method string
	material                              string
	wires                                 []wire
	truths                                func(part float64) map[string]string
	// instruments are the lines of the apparatus file; zero makes several zero
	// readings about a true one, in mm.
	instruments func(part float64, zero func(true float64) string) string
}

// wear is the zero of the micrometer of WF-7, in mm: its faces wear.
func wear(part float64) float64 { return 0.004 - float64(0.040*part) }

var apparatus = []*frame{
	{
		identity: "WF-7", name: "wire frame 7", result: "E", title: "Young's modulus", method: "stretched-wire", material: "steel",
		wires: []wire{
			{name: "W-11", what: "steel piano wire from coil 4", certified: "{E: 205 GPa ± 3 GPa k=2}", reason: "kinked at the lower chuck",
				truths: map[string]string{"E_true": "204.6 GPa", "d_true": "0.572 mm", "L_true": "2.846 m"}},
			{name: "W-12", what: "steel piano wire from coil 5", certified: "{E: 198 GPa ± 3 GPa k=2}", from: 0.56,
				truths: map[string]string{"E_true": "197.4 GPa", "d_true": "0.613 mm", "L_true": "2.851 m"}},
		},
		truths: func(part float64) map[string]string {
			return map[string]string{
				"strength": "1.2 GPa", "loads": "8", "batch": "0.0002", "start": "2 mm", "screw_pitch": "1 mm", "screw_zero": "0.02 mm",
				"gauge_true": fmt.Sprintf("%.4f mm", wear(part)), "gauge_zero": fmt.Sprintf("%.4f mm", wear(part)), "gauge_error": "0.0008 mm",
			}
		},
		instruments: func(part float64, zero func(float64) string) string {
			return `  screw:
    what: micrometer screw of the hinged frame
    pitch: 1 mm
    divisions: 100
    zero: ` + zero(0.02) + `
    calibration: ± 0.004 mm k=2
    serial: WF-7-S
    calibrated: 2025-01-20
    due: 2027-01-20
    certificate: C-2025-014
  gauge:
    what: micrometer for the wire
    resolution: 0.01 mm
    zero: ` + zero(wear(part)) + `
    calibration: ± 0.004 mm
    serial: MG-31
    calibrated: 2025-02-17
    due: 2026-04-17
    certificate: C-2025-029
  tape:
    what: steel tape
    resolution: 1 mm
    calibration: ± 1 mm
    serial: T-9
  weights:
    what: slotted weights, 0.5 kg each
    resolution: 0.001 kg
    scale: ± 0.05 % k=2
    serial: SW-3
    calibrated: 2024-09-02
    due: 2029-09-02
  clock:
    what: wall clock
    resolution: 1 s
`
		},
	},
	{
		identity: "TH-2", name: "torsion head 2", result: "G", title: "Shear modulus", method: "torsion-pendulum", material: "steel",
		wires: []wire{{name: "W-23", what: "steel wire, clamped at both ends",
			truths: map[string]string{"G_true": "81.7 GPa", "d_true": "0.853 mm", "ell_true": "1.034 m"}}},
		truths: func(float64) map[string]string {
			return map[string]string{"cradle_true": "0.00061 kg m^2", "gauge_zero": "0.013 mm"}
		},
		instruments: func(_ float64, zero func(float64) string) string {
			return `  clock:
    what: stopwatch
    resolution: 0.01 s
    calibration: ± 0.02 s
    serial: SC-5
    calibrated: 2024-11-30
    due: 2025-11-30
    certificate: C-2024-171
  gauge:
    what: micrometer for the wire
    resolution: 0.01 mm
    zero: ` + zero(0.013) + `
    calibration: ± 0.004 mm
    serial: MG-32
    calibrated: 2025-02-17
    due: 2027-02-17
    certificate: C-2025-030
  tape:
    what: steel rule
    resolution: 1 mm
    calibration: ± 0.5 mm
    serial: R-14
    calibrated: 2025-02-17
    due: 2030-02-17
`
		},
	},
}

// fitted returns the wires that had been fitted by a part of the year.
func (a *frame) fitted(part float64) []wire {
	var out []wire
	for _, w := range a.wires {
		if w.from <= part {
			out = append(out, w)
		}
	}
	return out
}

// file is the apparatus file as it was in a part of the year.
func (a *frame) file(part float64, zero func(float64) string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# Apparatus file of %s %s. Invented, like the readings.\napparatus: %s\nidentity: %s\nplace: practical room of Ashmere Hall school (invented)\n",
		a.name, a.identity, a.name, a.identity)
	b.WriteString("instruments:\n" + a.instruments(part, zero) + "specimens:\n")
	all := a.fitted(part)
	for i, w := range all {
		fmt.Fprintf(&b, "  - name: %s\n    what: %s\n    material: %s\n    temper: hard drawn\n    fitted: %s\n", w.name, w.what, a.material, day(w.from, -2))
		if i+1 < len(all) {
			fmt.Fprintf(&b, "    removed: %s\n    reason: %s\n", day(all[i+1].from, -2), w.reason)
		}
		if w.certified != "" {
			fmt.Fprintf(&b, "    certified: %s\n", w.certified)
		}
	}
	return b.String()
}
