package page

import (
	"regexp"
	"strings"
)

// Browsers break a line between mathematics, or a blank, and the full stop
// behind it. What must stay together stands in a span, which changes no text,
// so that this may be done within the author's prose too.

const (
	keptOpen  = `<span class="kept">`
	keptClose = `</span>`
	marks     = ".,;:!?)]%"
)

// kept binds formulae and values to the marks behind them, and blanks to ±.
func kept(s string) string {
	s = keptValues(s)
	if strings.Contains(s, `<span class="blank">`) {
		s = keptBlanks.ReplaceAllString(s, keptOpen+"$0"+keptClose)
	}
	return s
}

// keptBlanks are a blank and one for its uncertainty, or a blank and marks.
var keptBlanks = func() *regexp.Regexp {
	const (
		unit  = `<span class="unit">(?:[^<]|<sup><span class="unseen">\^</span>[^<]*</sup>)*</span>`
		rule  = `<span class="rule"><span class="unseen">[^<]*</span></span>`
		blank = `<span class="blank">(?:[^<]|` + rule + `|` + unit + `)*</span>`
		gap   = `[ \x{a0}]`
	)
	return regexp.MustCompile(blank + `(?:` + gap + `±` + gap + blank + `[.,;:)]*|[.,;:)]+)`)
}()

func keptValues(s string) string {
	var out strings.Builder
	done := 0
	for i := 0; ; {
		n := strings.Index(s[i:], "</")
		if n < 0 {
			break
		}
		i += n
		var opens, closes string
		switch {
		case strings.HasPrefix(s[i:], "</math>"):
			opens, closes = "<math", "</math>"
		case strings.HasPrefix(s[i:], "</data>"):
			opens, closes = "<data ", "</data>"
		default:
			i += len("</")
			continue
		}
		start, end := strings.LastIndex(s[done:i], opens)+done, i+len(closes)
		i = end
		if start < done || strings.Contains(s[start:end-len(closes)], closes) {
			continue
		}
		if strings.HasPrefix(s[end:], "</a>") {
			const link = `<a class="from"`
			a := strings.LastIndex(s[done:start], link) + done
			if a < done || strings.IndexByte(s[a:start], '>') != start-a-1 {
				continue
			}
			start, end = a, end+len("</a>")
		}
		to := markedTo(s, end)
		if to == end {
			continue
		}
		out.WriteString(s[done:start] + keptOpen + s[start:to] + keptClose)
		done, i = to, to
	}
	if done == 0 {
		return s
	}
	return out.String() + s[done:]
}

// markedTo is where the marks end that stand at a place; a percent sign may
// have a gap before it.
func markedTo(s string, at int) int {
	to := at
	for _, gap := range []string{" ", noBreak} {
		if strings.HasPrefix(s[to:], gap+"%") {
			to += len(gap)
		}
	}
	for to < len(s) && strings.IndexByte(marks, s[to]) >= 0 {
		to++
	}
	return to
}
