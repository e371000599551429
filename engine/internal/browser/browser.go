// Package browser drives a Chromium in tests: it opens pages, asks them
// questions and notes what they ask for. Only tests import it.
//
// A test that needs it is skipped where no Chromium is installed, but fails
// where the environment variable TAUT_BROWSER is "required".
package browser

import (
	"context"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"example.org/taut/engine/internal/chromium"
)

// patience is the longest time for which a page is waited for: far more than
// it takes, so that a busy machine fails no test.
const patience = 2 * time.Minute

// Browser is a running Chromium, without a window and with a profile of its
// own, which ends with the test that started it.
type Browser struct{ ctx context.Context }

// Start starts a browser. One serves all tests of a package: start it in the
// test of which they are parts.
func Start(t testing.TB) *Browser {
	t.Helper()
	path, err := chromium.Find()
	if err != nil {
		if os.Getenv("TAUT_BROWSER") == "required" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path))
	for _, f := range chromium.Flags() {
		if f.Value == "" {
			options = append(options, chromedp.Flag(f.Name, true))
		} else {
			options = append(options, chromedp.Flag(f.Name, f.Value))
		}
	}
	ctx, end := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(end)
	ctx, stop := chromedp.NewContext(ctx)
	t.Cleanup(stop)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("%s does not start: %v", path, err)
	}
	return &Browser{ctx}
}

// Tab is one open page.
type Tab struct {
	t   testing.TB
	ctx context.Context

	mu       sync.Mutex
	requests []request
	dialogs  []string
	said     []string
}

// Tab opens an empty page, which is closed with the test.
func (b *Browser) Tab(t testing.TB) *Tab {
	t.Helper()
	tab := &Tab{t: t}
	ctx, stop := chromedp.NewContext(b.ctx, chromedp.WithListener(tab.hear))
	t.Cleanup(stop)
	tab.ctx = ctx
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	call(tab, network.Enable, network.EnableParams{})
	return tab
}

// request is one for an address, which the page's policy may have stopped.
type request struct {
	id      network.RequestID
	address string
	stopped bool
}

// hear notes what the page does. Dialogs are answered, so that none waits.
func (tab *Tab) hear(event any) {
	tab.mu.Lock()
	defer tab.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		if !strings.HasPrefix(e.Request.URL, "data:") { // what the page holds itself
			tab.requests = append(tab.requests, request{id: e.RequestID, address: e.Request.URL})
		}
	case *network.EventLoadingFailed:
		for i, r := range tab.requests {
			if r.id == e.RequestID && e.BlockedReason != "" {
				tab.requests[i].stopped = true
			}
		}
	case *network.EventWebSocketCreated:
		tab.requests = append(tab.requests, request{id: e.RequestID, address: e.URL})
	case *page.EventJavascriptDialogOpening:
		tab.dialogs = append(tab.dialogs, string(e.Type)+": "+e.Message)
		go func() {
			_, _ = chromedp.Run(tab.ctx, func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
				_, err := cdp.Call(ctx, t, page.HandleJavaScriptDialog, page.HandleJavaScriptDialogParams{Accept: false})
				return chromedp.Void{}, err
			})
		}()
	case *runtime.EventExceptionThrown:
		tab.said = append(tab.said, e.ExceptionDetails.Text)
	}
}

// call sends one command of the protocol.
func call[P, R any](tab *Tab, c cdp.Command[P, R], p P) R {
	tab.t.Helper()
	ctx, stop := context.WithTimeout(tab.ctx, patience)
	defer stop()
	r, err := chromedp.Run(ctx, func(ctx context.Context, t *chromedp.Target) (R, error) { return cdp.Call(ctx, t, c, p) })
	if err != nil {
		tab.t.Fatalf("%s: %v", c.Method, err)
	}
	return r
}

// Open goes to an address and waits until it is loaded.
func (tab *Tab) Open(address string) {
	tab.t.Helper()
	ctx, stop := context.WithTimeout(tab.ctx, patience)
	defer stop()
	if err := chromedp.Do(ctx, chromedp.Navigate(address)); err != nil {
		tab.t.Fatalf("%s: %v", address, err)
	}
}

// Eval returns what an expression of JavaScript gives, or a promise of it.
func Eval[T any](tab *Tab, expression string) T {
	tab.t.Helper()
	ctx, stop := context.WithTimeout(tab.ctx, patience)
	defer stop()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		tab.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// Do runs an expression.
func (tab *Tab) Do(expression string) {
	tab.t.Helper()
	Eval[bool](tab, "Promise.resolve("+expression+").then(() => true)")
}

// Await waits until an expression is true of the page, also where another page
// is loaded in between.
func (tab *Tab) Await(expression string) {
	tab.t.Helper()
	until := time.Now().Add(patience)
	for {
		ctx, stop := context.WithTimeout(tab.ctx, patience)
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("Boolean("+expression+")"))
		stop()
		if err == nil && ok {
			return
		}
		if time.Now().After(until) {
			tab.t.Fatalf("never true: %s (%v); the page says:\n%s", expression, err, tab.Text("body"))
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// Text is the text of the first element that a selector of CSS finds, as it is
// seen; "" where it finds none.
func (tab *Tab) Text(selector string) string {
	tab.t.Helper()
	return Eval[string](tab, "document.querySelector("+Quote(selector)+")?.innerText ?? ''")
}

// Quote is a text as JavaScript writes it.
func Quote(text string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`).Replace(text) + `"`
}

// Window sets the size of the window, and whether the reader likes it dark.
func (tab *Tab) Window(width, height int64, dark bool) {
	tab.t.Helper()
	call(tab, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: width, Height: height, DeviceScaleFactor: 1})
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	call(tab, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
}

// Paper sets the window to the size of a sheet, and the page to its print.
func (tab *Tab) Paper(width, height int64) {
	tab.t.Helper()
	tab.Window(width, height, false)
	call(tab, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
}

// Picture is the window as PNG.
func (tab *Tab) Picture() []byte {
	tab.t.Helper()
	return call(tab, page.CaptureScreenshot, page.CaptureScreenshotParams{}).Data
}

// Requests are the addresses that the page asked for, in order.
func (tab *Tab) Requests() []string { return tab.asked(false) }

// Stopped are the addresses that it would have asked for, but for its policy.
func (tab *Tab) Stopped() []string { return tab.asked(true) }

func (tab *Tab) asked(stopped bool) (out []string) {
	tab.mu.Lock()
	defer tab.mu.Unlock()
	for _, r := range tab.requests {
		if r.stopped == stopped {
			out = append(out, r.address)
		}
	}
	return out
}

// Dialogs are what the page's scripts asked the reader.
func (tab *Tab) Dialogs() []string {
	tab.mu.Lock()
	defer tab.mu.Unlock()
	return append([]string(nil), tab.dialogs...)
}

// Thrown are the errors that the page's scripts did not catch.
func (tab *Tab) Thrown() []string {
	tab.mu.Lock()
	defer tab.mu.Unlock()
	return append([]string(nil), tab.said...)
}
