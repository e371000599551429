package preview_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"example.org/taut/engine/internal/browser"
	"example.org/taut/engine/page"
	"example.org/taut/themes"
)

// BenchmarkSaveToScreen measures from the moment at which the data of the main
// example are saved to the moment at which a browser has painted the new page:
// with the Monte Carlo evaluation at hand, and with one that follows. The time
// of the painting is taken in the page, in a task behind the frame. The parts,
// as medians too, of a change:
//
//	ms/notice   from the save to the beginning of the build
//	ms/build    from there until the page has heard of what is new
//	ms/put      until it is in the page
//	ms/paint    until it is painted
//	cpu-ms/...  the processor time of each change: of this process, which holds
//	            the server, and of the page's main thread in the browser
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
			o := options()
			var building atomic.Int64 // since when, as a theme is asked for then
			theme, err := themes.Load("")
			o.Theme = func() (*page.Theme, error) {
				building.Store(time.Now().UnixNano())
				return theme, err
			}
			tab := br.Tab(b)
			tab.Window(1200, 900, false)
			tab.Open(serve(b, dir, o) + "/record.html")
			tab.Do(`document.getElementById("pull").scrollIntoView()`) // the writer looks at what is changed
			tab.Do(`window.painted = text => new Promise(done => {
				const now = () => performance.timeOrigin + performance.now()
				const seen = new MutationObserver(() => {
					if (!document.getElementById("pull").textContent.includes(text)) return
					seen.disconnect()
					const put = now()
					requestAnimationFrame(() => {
						const after = new MessageChannel()
						after.port1.onmessage = () => done([performance.timeOrigin + performance.getEntriesByName("taut: heard").at(-1).startTime, put, now()])
						after.port2.postMessage(0)
					})
				})
				seen.observe(document.body, { childList: true, subtree: true, characterData: true })
			})`)
			change := func(value string) (parts [4]float64) {
				tab.Do(`void (window.next = painted(` + browser.Quote(value[len(value)-4:]) + `))`)
				last := float64(time.Now().UnixNano()) / 1e6
				save(b, data, strings.Replace(string(text), reading, value, 1))
				ends := browser.Eval[[]float64](tab, "window.next")
				for i, end := range append([]float64{float64(building.Load()) / 1e6}, ends...) {
					parts[i], last = end-last, end
				}
				return parts
			}
			for n := range 2 { // both are drawn
				change(values[1-n])
				time.Sleep(700 * time.Millisecond)
			}
			took, parts := []float64{}, [4][]float64{}
			tab.Count()
			before, cpu := tab.Spent(), processorTime(b)
			n := 3
			for b.Loop() {
				sum := 0.0
				for i, part := range change(values[n%len(values)]) {
					parts[i] = append(parts[i], part)
					sum += part
				}
				took = append(took, sum)
				n++
				b.StopTimer()
				time.Sleep(700 * time.Millisecond) // the writer looks, and the page settles
				b.StartTimer()
			}
			each := 1e3 / float64(len(took))
			b.ReportMetric((processorTime(b)-cpu)*each, "cpu-ms/server")
			after := tab.Spent()
			b.ReportMetric((after.All-before.All)*each, "cpu-ms/page")
			b.ReportMetric((after.Script-before.Script)*each, "cpu-ms/script")
			b.ReportMetric((after.Style+after.Layout-before.Style-before.Layout)*each, "cpu-ms/layout")
			for i, name := range []string{"notice", "build", "put", "paint"} {
				slices.Sort(parts[i])
				b.ReportMetric(parts[i][len(took)/2], "ms/"+name)
			}
			slices.Sort(took)
			b.ReportMetric(took[len(took)/2], "ms/median")
			b.ReportMetric(took[0], "ms/least")
			b.ReportMetric(took[len(took)*9/10], "ms/90%")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// processorTime is what this process has worked, in seconds.
func processorTime(b *testing.B) float64 {
	b.Helper()
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		b.Fatal(err)
	}
	return float64(used.Utime.Nano()+used.Stime.Nano()) / 1e9
}
