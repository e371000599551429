package preview_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/taut/engine/build"
	"example.org/taut/engine/internal/browser"
)

// TestInBrowser holds what only a browser can tell.
func TestInBrowser(t *testing.T) {
	b := browser.Start(t)
	for _, c := range []struct {
		name string
		test func(*testing.T, *browser.Tab)
	}{
		{"reload", testReload},
		{"place", testPlace},
		{"findings", testFindings},
		{"folding", testFolding},
		{"lastGood", testLastInBrowser},
		{"gone", testGoneInBrowser},
		{"sameAsLoaded", testSameAsLoaded},
		{"laidOutAsBuilt", testLaidOutAsBuilt},
		{"theme", testHeadChanges},
		{"notTakenApart", testBodyAnew},
		{"ended", testEnded},
		{"hostile", testHostile},
		{"otherSite", testOtherSite},
	} {
		t.Run(c.name, func(t *testing.T) {
			tab := b.Tab(t)
			c.test(t, tab)
			for _, e := range tab.Thrown() {
				t.Errorf("a script threw: %s", e)
			}
		})
	}
}

// long is a record with much text before and behind its numbers.
func long(middle string) string {
	var b strings.Builder
	b.WriteString(wire)
	for i := range 40 {
		fmt.Fprintf(&b, "\n## Part %d\n\nText of part %d.\n", i, i)
		if i == 20 {
			b.WriteString("\n" + middle + "\n")
		}
	}
	return b.String()
}

func testReload(t *testing.T, tab *browser.Tab) {
	dir := folder(t)
	tab.Open(serve(t, dir, options()) + "/wire.html")
	tab.Do("window.stays = true")
	save(t, filepath.Join(dir, "wire.md"), strings.Replace(wire, "The stiffness", "After the save, it", 1))
	tab.Await(`document.body.innerText.includes("After the save, it is")`)
	save(t, filepath.Join(dir, "pull.csv"), strings.Replace(pull, "5.01", "5.08", 1))
	tab.Await(`document.querySelector("#pull").innerText.includes("5.08")`)
	save(t, filepath.Join(dir, "wire.md"), strings.Replace(wire, "A wire", "Another title", 1))
	tab.Await(`document.title === "Another title" && document.querySelector("h1").innerText === "Another title"`)
	if !browser.Eval[bool](tab, "window.stays === true") {
		t.Error("the page was loaded anew, not changed")
	}
}

func testPlace(t *testing.T, tab *browser.Tab) {
	dir := folder(t)
	rec := filepath.Join(dir, "wire.md")
	save(t, rec, long("Here."))
	tab.Window(900, 700, false)
	tab.Open(serve(t, dir, options()) + "/wire.html")
	const part = `[...document.querySelectorAll("h2, h3")].find(h => h.innerText === "Part 22")`
	const top = part + `.getBoundingClientRect().top`
	tab.Do(part + `.scrollIntoView(), scrollBy(0, -200)`)
	before := browser.Eval[float64](tab, top)
	for n, text := range []string{
		strings.Replace(long("Here."), "The stiffness", "Ten more lines.\n\n1\n\n2\n\n3\n\n4\n\n5\n\n6\n\n7\n\n8\n\n9\n\n10\n\nThe stiffness", 1),
		strings.Replace(long("Now here."), "The stiffness", "Fewer lines.\n\nThe stiffness", 1),
		strings.Replace(long("Here."), "## Part 3\n", "## Part three, by another name\n", 1),
		strings.Replace(long("Here."), "# Part 21", "# Another 21", 1),
		strings.Replace(long("Here."), "L = 2.846 m", "L = 2.846 mmm", 1),
		long("Here."),
	} {
		save(t, rec, text)
		marks := []string{"Ten more", "Fewer", "by another name", "Another 21", "unknown-unit", "no findings"}
		tab.Await(`document.body.innerText.includes(` + browser.Quote(marks[min(n, 4)]) + `) || ` + fmt.Sprint(n == 5) + ` && document.querySelector("#taut-watch").dataset.state === "current"`)
		if after := browser.Eval[float64](tab, top); after < before-2 || after > before+2 {
			t.Errorf("change %d: the reader was moved from %.0f to %.0f", n, before, after)
		}
	}
	// What has the focus keeps it.
	tab.Do(`document.querySelector("a.from").focus()`)
	save(t, rec, strings.Replace(long("Here."), "The stiffness", "Focused, it", 1))
	tab.Await(`document.body.innerText.includes("Focused, it is")`)
	if !browser.Eval[bool](tab, `document.activeElement.matches("a.from")`) {
		t.Error("the focus was lost")
	}
}

func testFindings(t *testing.T, tab *browser.Tab) {
	dir := folder(t)
	rec := filepath.Join(dir, "wire.md")
	save(t, rec, long("Here."))
	for _, w := range []struct {
		width, height int64
		dark          bool
	}{{1200, 800, false}, {390, 700, true}} {
		tab.Window(w.width, w.height, w.dark)
		tab.Open(serve(t, dir, options()) + "/wire.html")
		tab.Do(`scrollTo(0, 2000)`)
		save(t, rec, strings.Replace(long("Here."), "L = 2.846 m", "L = 2.846 mmm", 1))
		tab.Await(`document.querySelector("#taut-watch details")?.open && document.querySelector("#taut-watch").innerText.includes("unknown-unit")`)
		// It is in sight, wherever the reader is, and covers less than half.
		box := browser.Eval[[]float64](tab, `(() => { const r = document.querySelector("#taut-watch").getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom] })()`)
		if box[0] < 0 || box[1] < float64(w.height)/2 || box[2] > float64(w.width) || box[3] > float64(w.height) {
			t.Errorf("the panel stands at %v of %d × %d", box, w.width, w.height)
		}
		if over := browser.Eval[bool](tab, `document.querySelector("#taut-watch summary").contains(document.elementFromPoint(...(r => [r.left + r.width / 3, r.top + r.height / 2])(document.querySelector("#taut-watch summary").getBoundingClientRect())))`); !over {
			t.Error("something covers the panel")
		}
		for _, live := range []string{`#taut-watch summary [role="status"]`, `#taut-lost[role="alert"]`} {
			if !browser.Eval[bool](tab, `document.querySelector(`+browser.Quote(live)+`) !== null`) {
				t.Errorf("no %s: who hears the page is not told", live)
			}
		}
		if wide := browser.Eval[bool](tab, `document.documentElement.scrollWidth > innerWidth`); wide {
			t.Error("the page became wider than the window")
		}
		save(t, rec, long("Here."))
		tab.Await(`document.querySelector("#taut-watch").dataset.state === "current"`)
	}
}

// testFolding: what the reader folds stays folded while the state is the same.
func testFolding(t *testing.T, tab *browser.Tab) {
	dir := folder(t)
	rec := filepath.Join(dir, "wire.md")
	faulty := strings.Replace(wire, "L = 2.846 m", "L = 2.846 mmm", 1)
	save(t, rec, faulty)
	tab.Open(serve(t, dir, options()) + "/wire.html")
	const open = `document.querySelector("#taut-watch details").open`
	tab.Await(open)
	tab.Do(`document.querySelector("#taut-watch summary").click()`)
	save(t, rec, faulty+"\nMore.\n")
	tab.Await(`document.body.innerText.includes("More.")`)
	if browser.Eval[bool](tab, open) {
		t.Error("the reader had folded it")
	}
	save(t, rec, wire)
	tab.Await(`document.querySelector("#taut-watch").dataset.state === "current"`)
	save(t, rec, faulty)
	tab.Await(open)
}

func testLastInBrowser(t *testing.T, tab *browser.Tab) {
	dir := folder(t)
	rec := filepath.Join(dir, "wire.md")
	tab.Open(serve(t, dir, options()) + "/wire.html")
	good := browser.Eval[string](tab, `document.querySelector("#calc-E .stage:last-child data").innerText`)
	save(t, rec, strings.Replace(wire, "L = 2.846 m", "L = 2.846 mmm", 1))
	tab.Await(`document.querySelector("#calc-E .taut-last")`)
	text := tab.Text("#calc-E .taut-last")
	if !strings.Contains(text, "not current, from before the fault of line 17") || !strings.Contains(text, "E = ") {
		t.Errorf("the last value is shown as %q; it was %q", text, good)
	}
	// No number of the page says that it is E and is not marked.
	if n := browser.Eval[int](tab, `document.querySelectorAll("#calc-E data").length`); n != 0 {
		t.Errorf("%d values stand in a step that waits", n)
	}
	style := browser.Eval[string](tab, `(s => s.borderTopStyle + " " + s.backgroundImage.slice(0, 9) + " " + s.color)(getComputedStyle(document.querySelector("#calc-E .taut-last")))`)
	if !strings.HasPrefix(style, "dashed repeating") {
		t.Errorf("it looks like %q", style)
	}
	// It is marked on a page that is opened only now, too.
	tab.Do(`location.reload()`)
	tab.Await(`document.readyState === "complete" && document.querySelector("#calc-E .taut-last")`)
}

func testGoneInBrowser(t *testing.T, tab *browser.Tab) {
	dir := folder(t)
	rec := filepath.Join(dir, "wire.md")
	tab.Open(serve(t, dir, options()) + "/wire.html")
	if err := os.Remove(rec); err != nil {
		t.Fatal(err)
	}
	tab.Await(`document.querySelector("#taut-watch").dataset.state === "gone"`)
	if text := tab.Text("#taut-watch"); !strings.Contains(text, "can’t be shown now") || !strings.Contains(text, "not current") {
		t.Errorf("the panel says %q", text)
	}
	if grey := browser.Eval[string](tab, `getComputedStyle(document.querySelector("main")).filter`); !strings.Contains(grey, "grayscale") {
		t.Errorf("the page is %q", grey)
	}
	save(t, rec, wire)
	tab.Await(`document.querySelector("#taut-watch").dataset.state === "current"`)
	if grey := browser.Eval[string](tab, `getComputedStyle(document.querySelector("main")).filter`); grey != "none" {
		t.Errorf("the page is %q still", grey)
	}
}

// testSameAsLoaded: after any change the page is what it would be if it were
// loaded anew.
func testSameAsLoaded(t *testing.T, tab *browser.Tab) {
	dir := folder(t)
	rec := filepath.Join(dir, "wire.md")
	at := serve(t, dir, options()) + "/wire.html"
	tab.Open(at)
	parts := strings.Split(long("Here."), "\n\n")
	for n := range 12 {
		next := append([]string(nil), parts...)
		a, b := 3+(n*7)%(len(parts)-3), 3+(n*13)%(len(parts)-3)
		next[a], next[b] = next[b], next[a]
		if n%3 == 0 {
			next = append(next[:a], next[a+1:]...)
		}
		mark := fmt.Sprintf("Change %d.", n)
		save(t, rec, strings.Join(next, "\n\n")+"\n\n"+mark+"\n")
		tab.Await(`document.body.innerText.includes(` + browser.Quote(mark) + `)`)
		until := time.Now().Add(10 * time.Second)
		for {
			same := browser.Eval[string](tab, `fetch(location.pathname).then(r => r.text()).then(text => {
				const next = new DOMParser().parseFromString(text, "text/html").body
				for (const d of [...next.querySelectorAll("details"), ...document.querySelectorAll("details")]) d.open = true
				return next.isEqualNode(document.body) ? "" : document.body.outerHTML
			})`)
			if same == "" {
				break
			}
			if time.Now().After(until) {
				t.Fatalf("change %d: the page differs from the one that is served", n)
			}
			time.Sleep(10 * time.Millisecond)
		}
	}
}

// testLaidOutAsBuilt: what is left out of sight takes the place that it has on
// the page that is built, so that nothing moves when the reader comes near; and
// the words that are searched for are found there.
func testLaidOutAsBuilt(t *testing.T, tab *browser.Tab) {
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(filepath.FromSlash("../../examples/steel-wire"))); err != nil {
		t.Fatal(err)
	}
	rec, data := filepath.Join(dir, "record.md"), filepath.Join(dir, "pull.csv")
	text, err := os.ReadFile(data)
	if err != nil {
		t.Fatal(err)
	}
	o := options()
	at := serve(t, dir, o) + "/record.html"
	const heights = `[...document.querySelectorAll("main section, main figure, main table, main .scroll, main .steps, main .facts, main h2")].filter(e => !e.closest("details:not([open])")).map(e => {
		const r = e.getBoundingClientRect()
		return [e.localName + "#" + e.id + "." + e.className, r.left, r.top + scrollY, r.width, r.height].join(" ")
	}).slice(1)`
	const calm = `document.documentElement.classList.contains("taut-calm")`
	const skipped = `[...document.querySelectorAll(".scroll, .steps, .facts, figure")].filter(e => !e.firstElementChild.checkVisibility({ contentVisibilityAuto: true })).length`
	for _, width := range []int64{1200, 390} {
		tab.Window(width, 900, false)
		built := func() []string {
			out, err := build.Record(rec, o.Build)
			if err != nil {
				t.Fatal(err)
			}
			file := filepath.Join(t.TempDir(), "built.html")
			save(t, file, string(out.HTML))
			tab.Open("file://" + filepath.ToSlash(file))
			return browser.Eval[[]string](tab, heights)
		}
		save(t, data, string(text))
		before := built()
		save(t, data, strings.Replace(string(text), "1.00, 2.43, 2.44", "1.00, 2.43, 2.44\n1.00, 2.43, 2.44", 1))
		after := built()
		if slices.Equal(before, after) {
			t.Fatal("one more reading moves nothing")
		}
		save(t, data, string(text))
		tab.Open(at)
		same := func(want []string) {
			t.Helper()
			tab.Await(calm)
			if n := browser.Eval[int](tab, skipped); n < 10 {
				t.Errorf("%d wide: only %d parts are left out of sight", width, n)
			}
			got := browser.Eval[[]string](tab, heights)
			for i := range want {
				if i >= len(got) || got[i] != want[i] {
					t.Fatalf("%d wide: built, a part is at %s; while it is written, at %s", width, want[i], got[min(i, len(got)-1)])
				}
			}
		}
		same(before)
		save(t, data, strings.Replace(string(text), "1.00, 2.43, 2.44", "1.00, 2.43, 2.44\n1.00, 2.43, 2.44", 1))
		tab.Await(`!` + calm)
		same(after)
		if !browser.Eval[bool](tab, `find("SHA-256")`) {
			t.Error("what is out of sight is not found")
		}
	}
}

// testHeadChanges: where the style changes, the page is loaded anew, and its
// policy fits.
func testHeadChanges(t *testing.T, tab *browser.Tab) {
	o := options()
	o.ThemeDir = t.TempDir()
	style := filepath.Join(o.ThemeDir, "style.css")
	save(t, style, "main { padding-left: 10px; }\n")
	o.Theme = themeIn(o.ThemeDir)
	dir := folder(t)
	tab.Open(serve(t, dir, o) + "/wire.html")
	tab.Await(`getComputedStyle(document.querySelector("main")).paddingLeft === "10px"`)
	save(t, style, "main { padding-left: 20px; }\n")
	tab.Await(`getComputedStyle(document.querySelector("main")).paddingLeft === "20px"`)
	save(t, style, "main { background: url(http://192.0.2.7/x.png); }\n")
	tab.Await(`document.querySelector("#taut-watch").dataset.state === "gone" && document.querySelector("#taut-watch").innerText.includes("style.css")`)
	save(t, style, "main { padding-left: 30px; }\n")
	tab.Await(`getComputedStyle(document.querySelector("main")).paddingLeft === "30px" && document.querySelector("#taut-watch").dataset.state === "current"`)
}

// testBodyAnew: of a theme with an element whose text is not read as markup the
// whole body is sent, and a page that something else has changed is loaded anew.
func testBodyAnew(t *testing.T, tab *browser.Tab) {
	o := options()
	dir := t.TempDir()
	save(t, filepath.Join(dir, "style.css"), "main { color: black; }\n")
	common, err := os.ReadFile(filepath.FromSlash("../page/common/page.html"))
	if err != nil {
		t.Fatal(err)
	}
	save(t, filepath.Join(dir, "page.html"), strings.Replace(string(common), "<footer>", "<p><textarea></textarea></p>\n<footer>", 1))
	o.Theme = themeIn(dir)
	dir = folder(t)
	rec := filepath.Join(dir, "wire.md")
	at := serve(t, dir, o) + "/wire.html"
	tab.Open(at)
	tab.Do("window.stays = true")
	for _, say := range []string{"First, it", "Second, it"} {
		save(t, rec, strings.Replace(wire, "The stiffness", say, 1))
		tab.Await(`document.body.innerText.includes("` + say + ` is") && document.querySelector("main + p > textarea")`)
	}
	if !browser.Eval[bool](tab, "window.stays === true") {
		t.Error("the page was loaded anew, not changed")
	}

	o.Theme = nil
	tab.Open(serve(t, dir, o) + "/wire.html")
	tab.Do("window.stays = true, document.querySelector('main').prepend('From elsewhere')")
	save(t, rec, strings.Replace(wire, "The stiffness", "Third, it", 1))
	tab.Await(`window.stays !== true && document.body.innerText.includes("Third, it is") && !document.body.innerText.includes("From elsewhere")`)
}

// testEnded: a page that nobody keeps up to date says so.
func testEnded(t *testing.T, tab *browser.Tab) {
	dir := folder(t)
	t.Run("while it runs", func(t *testing.T) {
		tab.Open(serve(t, dir, options()) + "/wire.html")
		tab.Await(`document.querySelector("#taut-lost").innerText === ""`)
	})
	tab.Await(`document.querySelector("#taut-lost").innerText.includes("not kept up to date")`)
}

func testHostile(t *testing.T, tab *browser.Tab) {
	hostile, err := os.ReadFile(filepath.FromSlash("../../testdata/hostile/record.md"))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	rec := filepath.Join(dir, "h</script><img src=x onerror=window.hit=22>.md")
	if err := os.MkdirAll(filepath.Dir(rec), 0o755); err != nil {
		t.Fatal(err)
	}
	save(t, rec, "# Nothing yet\n")
	at := serve(t, dir, options())
	tab.Open(at + "/")
	tab.Await(`document.querySelector("main li a")`)
	tab.Do(`document.querySelector("main li a").click()`)
	tab.Await(`document.querySelector("h1")?.innerText === "Nothing yet"`)
	save(t, rec, string(hostile))
	tab.Await(`document.body.innerText.includes("Heading")`)
	for range 2 { // as it comes by a change, and as it is loaded
		tab.Do(`document.querySelectorAll("a, b, img, svg, button").forEach(e => {
			if (!e.closest("#taut-watch")) for (const type of ["click", "mouseover", "load", "error"]) {
				e.addEventListener(type, v => v.preventDefault(), { once: true })
				e.dispatchEvent(new MouseEvent(type, { bubbles: true, cancelable: true }))
			}
		})`)
		if links := browser.Eval[[]string](tab, `[...document.querySelectorAll("main a[href]")].map(a => a.protocol).filter(p => p !== "http:")`); len(links) > 0 {
			t.Errorf("links lead to %v", links)
		}
		if n := browser.Eval[int](tab, `document.querySelectorAll("body script, body style, iframe, form, base, object, embed, [onclick], [onload], [onerror], [onmouseover], [style]").length`); n > 0 {
			t.Errorf("%d elements of the author's own", n)
		}
		if n := browser.Eval[int](tab, `document.querySelectorAll("#taut-watch").length`); n != 1 {
			t.Errorf("%d panels", n)
		}
		time.Sleep(100 * time.Millisecond)
		if hit := browser.Eval[int](tab, `window.hit ?? 0`); hit != 0 {
			t.Errorf("script %d ran", hit)
		}
		tab.Do(`location.reload()`)
		tab.Await(`document.readyState === "complete" && document.body.innerText.includes("Heading")`)
	}
	// Even a script that got in would not run.
	tab.Do(`(() => { const s = document.createElement("script"); s.textContent = "window.hit = 99"; document.body.append(s);
		const d = document.createElement("div"); d.innerHTML = "<img src=x onerror='window.hit=98'>"; document.body.append(d) })()`)
	time.Sleep(100 * time.Millisecond)
	if hit := browser.Eval[int](tab, `window.hit ?? 0`); hit != 0 {
		t.Errorf("script %d ran", hit)
	}
	if d := tab.Dialogs(); len(d) > 0 {
		t.Errorf("dialogs %v", d)
	}
	for _, r := range tab.Requests() {
		if !strings.HasPrefix(r, at+"/") {
			t.Errorf("a request for %s", r)
		}
	}
}

// testOtherSite: a page of another origin learns nothing.
func testOtherSite(t *testing.T, tab *browser.Tab) {
	dir := folder(t)
	at := serve(t, dir, options())
	tab.Open("data:text/html,<title>other</title>")
	got := browser.Eval[[]string](tab, `Promise.all([
		fetch("`+at+`/wire.html").then(r => r.text(), () => "refused"),
		fetch("`+at+`/wire.html", { mode: "no-cors" }).then(r => r.text(), () => "refused"),
		new Promise(done => { const e = new EventSource("`+at+`/wire.html?live=0"); e.addEventListener("page", () => done("heard")); e.onerror = () => { e.close(); done("refused") } }),
		new Promise(done => { const f = document.createElement("iframe"); f.src = "`+at+`/wire.html"; f.onload = () => { let s = "refused"; try { s = f.contentDocument?.body?.innerText || "refused" } catch { } done(s) }; document.body.append(f) }),
	])`)
	for i, what := range got {
		if what != "refused" && what != "" {
			t.Errorf("way %d: %.100q", i, what)
		}
	}
}
