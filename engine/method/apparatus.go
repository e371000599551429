package method

import (
	"fmt"
	"strings"
)

// apparatus is the text of the apparatus file: the suggested instruments, each
// with a resolution to be filled in, or the simulated ones.
func (l *layout) apparatus() string {
	var b strings.Builder
	if l.fill == nil {
		b.WriteString("# Write for each – what the instrument has: resolution: 0.01 mm.\n" +
			"# Where it was read, add the reading at zero, zero: +0.02 mm; from a certificate,\n" +
			"# calibration: ± 0.004 mm k=2. Take the # away where such an instrument is used.\n")
	}
	b.WriteString("instruments:\n")
	used := l.instruments(func(r *Role) bool { return l.inTable(r) || l.inCalc(r) })
	for _, name := range used {
		b.WriteString(l.instrument(name))
	}
	if len(used) == 0 {
		b.Reset()
		b.WriteString("instruments: {}\n")
	}
	if l.fill != nil {
		return b.String()
	}
	for _, name := range l.instruments(func(*Role) bool { return true }) {
		if !contains(used, name) {
			b.WriteString("#" + strings.ReplaceAll(strings.TrimSuffix(l.instrument(name), "\n"), "\n", "\n#") + "\n")
		}
	}
	return b.String()
}

// instruments are those suggested by roles of which keep holds, in the order
// of the roles.
func (l *layout) instruments(keep func(*Role) bool) []string {
	var out []string
	for i := range l.method.Roles {
		r := &l.method.Roles[i]
		if r.With != "" && keep(r) && !contains(out, r.With) {
			out = append(out, r.With)
		}
	}
	return out
}

func (l *layout) instrument(name string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "  %s:\n", name)
	line := func(key, text string) { fmt.Fprintf(&b, "    %s: %s\n", key, text) }
	var in *Instrument
	if l.shape != nil {
		in = l.shape.Instruments[name]
	}
	if l.fill == nil || in == nil {
		line("resolution", "–")
		if in != nil {
			for _, s := range in.Extra {
				line(s.Key, "–")
			}
		}
		return b.String()
	}
	line("resolution", quantityText(in.Resolution, in.Unit.Difference()))
	if in.HasZero {
		line("zero", in.zeroText(l.fill.Plan))
	}
	for _, s := range in.Extra {
		line(s.Key, s.Text)
	}
	return b.String()
}

// zeroText is the zero reading with the decimals of the resolution.
func (in *Instrument) zeroText(plan bool) string {
	resolution := in.Resolution
	if plan {
		resolution = 0
	}
	u := in.Unit.Difference()
	text := numberText(in.Zero, u, resolution)
	if !u.IsOne() {
		text += " " + u.String()
	}
	return text
}
