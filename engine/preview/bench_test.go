package preview_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/taut/engine/internal/browser"
)

// BenchmarkSaveToScreen measures from the moment at which the data of the main
// example are saved to the moment at which a browser has painted the new page:
// with the Monte Carlo evaluation at hand, and with one that follows. The time
// of the painting is taken in the page, in a task behind the frame.
//
//	go test ./engine/preview -run - -bench SaveToScreen -benchtime 40x
func BenchmarkSaveToScreen(b *testing.B) {
	br := browser.Start(b)
	for _, draws := range []string{"at hand", "later"} {
		b.Run("draws "+draws, func(b *testing.B) {
			dir := b.TempDir()
			if err := os.CopyFS(dir, os.DirFS(filepath.FromSlash("../../examples/steel-wire"))); err != nil {
				b.Fatal(err)
			}
			data := filepath.Join(dir, "pull.csv")
			text, err := os.ReadFile(data)
			if err != nil {
				b.Fatal(err)
			}
			const reading = "3.86\n4.00, 4.14"
			if strings.Count(string(text), reading) != 1 {
				b.Fatalf("%s does not stand once in the data", reading)
			}
			values := []string{"3.86\n4.00, 4.14", "3.86\n4.00, 4.15"}
			if draws == "later" {
				values = nil
				for n := range 200 {
					values = append(values, fmt.Sprintf("3.%02d\n4.00, 4.%02d", 84+n/25, 4+n%25))
				}
			}
			tab := br.Tab(b)
			tab.Window(1200, 900, false)
			tab.Open(serve(b, dir, options()) + "/record.html")
			tab.Do(`window.painted = text => new Promise(done => {
				const seen = new MutationObserver(() => {
					if (!document.getElementById("pull").textContent.includes(text)) return
					seen.disconnect()
					requestAnimationFrame(() => {
						const after = new MessageChannel()
						after.port1.onmessage = () => done(performance.timeOrigin + performance.now())
						after.port2.postMessage(0)
					})
				})
				seen.observe(document.body, { childList: true, subtree: true, characterData: true })
			})`)
			change := func(value string) float64 {
				tab.Do(`void (window.next = painted(` + browser.Quote(value[len(value)-4:]) + `))`)
				t := time.Now()
				save(b, data, strings.Replace(string(text), reading, value, 1))
				return browser.Eval[float64](tab, "window.next") - float64(t.UnixNano())/1e6
			}
			for n := range 2 { // both are drawn
				change(values[1-n])
				time.Sleep(300 * time.Millisecond)
			}
			var took []float64
			n := 3
			for b.Loop() {
				took = append(took, change(values[n%len(values)]))
				n++
				b.StopTimer()
				time.Sleep(300 * time.Millisecond) // the writer looks
				b.StartTimer()
			}
			slices.Sort(took)
			b.ReportMetric(took[len(took)/2], "ms/median")
			b.ReportMetric(took[0], "ms/least")
			b.ReportMetric(took[len(took)*9/10], "ms/90%")
			b.ReportMetric(0, "ns/op")
		})
	}
}
