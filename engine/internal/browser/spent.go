package browser

import (
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/performance"
)

// Spent is what the page's main thread has worked since Count, in seconds.
type Spent struct{ All, Script, Style, Layout float64 }

// Count begins to count what the page's main thread works: processor time, so
// that whatever else the machine does counts little.
func (tab *Tab) Count() {
	tab.t.Helper()
	call(tab, performance.Enable, performance.EnableParams{TimeDomain: performance.EnableTimeDomainThreadTicks})
}

// Spent returns it.
func (tab *Tab) Spent() Spent {
	tab.t.Helper()
	var s Spent
	for _, m := range call(tab, performance.GetMetrics, cdp.Empty{}).Metrics {
		switch m.Name {
		case "TaskDuration":
			s.All = m.Value
		case "ScriptDuration":
			s.Script = m.Value
		case "RecalcStyleDuration":
			s.Style = m.Value
		case "LayoutDuration":
			s.Layout = m.Value
		}
	}
	return s
}
