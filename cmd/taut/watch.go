package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"net"
	"net/url"
	"os"
	"os/signal"
	"path/filepath"
	"strconv"
	"syscall"

	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/preview"
	"example.org/taut/themes"
)

// usualPort is the port that is tried first, so that an open page finds the
// next `taut watch` again.
const usualPort = 7207

var _ = add(&command{
	name: "watch", args: "PATH", what: "show a record in the browser while it is written",
	more: "PATH is a record, or a folder whose records are shown from a list. The address to open\n" +
		"goes to the standard output, findings to the standard error. A page is built when it is\n" +
		"opened, and again each time its record is saved, or a file that it reads: data, apparatus,\n" +
		"method, theme. The browser then shows the new page by itself and keeps the place.\n\n" +
		"Findings stand over the page. Where a value can't be worked out any more, the last good one\n" +
		"is shown grey and hatched, with the words that it is not current and since which fault. The\n" +
		"panel leads to the views of the record, and to the list.\n\n" +
		"Nothing is written: `taut build` writes pages. The server answers to this machine alone,\n" +
		"on port " + strconv.Itoa(usualPort) + " or, where that is taken, on a free one. With --listen it answers to others too,\n" +
		"but only to browsers that open the address with the token that is printed; the way\n" +
		"there is not encrypted. Ctrl-C ends it.",
	setup: func(f *flags) func(*call) int {
		w := &watched{}
		f.text(&w.listen, "listen", "ADDR", "answer at this address instead of the machine's own, 0.0.0.0 for all; with a token")
		f.text(&w.port, "port", "N", "answer on this port; 0 for any free one")
		f.text(&w.themeName, "theme", "NAME|DIR", "how the pages look, instead of what each record names")
		return w.run
	},
})

// watched is one call of `taut watch`.
type watched struct {
	*call
	listen, port, themeName string
}

func (w *watched) run(k *call) int {
	w.call = k
	if len(k.args) != 1 {
		return k.wrongUsage("`watch` needs one path, of a record or a folder")
	}
	o, err := w.options()
	if err != nil {
		return k.complain(err)
	}
	if err := w.first(k.args[0], o.Build); err != nil {
		return k.complain(err)
	}
	s, err := preview.New(k.args[0], o)
	if err != nil {
		return k.complain(err)
	}
	l, err := w.listener()
	if err != nil {
		return k.complain(err)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	fmt.Fprintln(k.out, w.address(l.Addr(), o.Token))
	fmt.Fprintln(k.err, "Open this address in a browser. Ctrl-C ends it.")
	if err := s.Serve(ctx, l); err != nil {
		return k.complain(err)
	}
	return exitOK
}

// first tells of the findings there are to begin with, and refuses what no
// page can be made of.
func (w *watched) first(path string, o build.Options) error {
	if isFolder(path) {
		return nil
	}
	out, err := build.Record(path, o)
	if err != nil {
		return err
	}
	w.saved(path, out, nil)
	return nil
}

func (w *watched) options() (preview.Options, error) {
	o := preview.Options{Build: options(nil), Saved: w.saved}
	if w.listen != "" {
		o.Token = rand.Text()
		o.Names = []string{w.listen}
	}
	if w.themeName == "" {
		return o, nil
	}
	b := &builder{call: w.call, themeName: w.themeName}
	if _, err := b.theme(); err != nil {
		return o, err
	}
	o.Theme = b.theme
	for _, name := range themes.Names() {
		if name == w.themeName {
			theme, err := b.theme()
			o.Theme = func() (*page.Theme, error) { return theme, err }
			return o, nil
		}
	}
	o.ThemeDir = filepath.Clean(w.themeName)
	return o, nil
}

// listener listens where it should. A port that nobody asked for gives way
// where it is taken.
func (w *watched) listener() (net.Listener, error) {
	port := usualPort
	if w.port != "" {
		n, err := strconv.Atoi(w.port)
		if err != nil || n < 0 || n > 65535 {
			return nil, usageError(fmt.Sprintf("`--port` can't be `%s`: it is a whole number up to 65535", w.port))
		}
		port = n
	}
	host := w.listen
	if host == "" {
		host = "127.0.0.1"
	}
	l, err := net.Listen("tcp", net.JoinHostPort(host, strconv.Itoa(port)))
	if err != nil && w.port == "" {
		l, err = net.Listen("tcp", net.JoinHostPort(host, "0"))
	}
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fmt.Errorf("port %d is in use by another program; give another with --port, or leave it out", port)
	case errors.Is(err, syscall.EACCES):
		return nil, fmt.Errorf("port %d may not be used by you; give one of 1024 or more with --port", port)
	case err != nil:
		return nil, fmt.Errorf("nothing can listen at `%s`, port %d: give an address of this machine with --listen", host, port)
	}
	return l, nil
}

// address is what the user opens.
func (w *watched) address(a net.Addr, token string) string {
	host, port, err := net.SplitHostPort(a.String())
	if err != nil {
		return a.String()
	}
	if ip := net.ParseIP(host); ip != nil && ip.IsUnspecified() {
		host = ownAddress()
	}
	u := url.URL{Scheme: "http", Host: net.JoinHostPort(host, port), Path: "/"}
	if token != "" {
		u.RawQuery = url.Values{"token": {token}}.Encode()
	}
	return u.String()
}

// ownAddress is an address by which others reach this machine, the loopback
// address where there is none.
func ownAddress() string {
	list, err := net.InterfaceAddrs()
	if err != nil {
		return "127.0.0.1"
	}
	for _, a := range list {
		if n, ok := a.(*net.IPNet); ok && n.IP.To4() != nil && n.IP.IsGlobalUnicast() {
			return n.IP.String()
		}
	}
	return "127.0.0.1"
}

// saved tells on the terminal of a record that was saved.
func (w *watched) saved(record string, out *build.Output, err error) {
	if err != nil {
		fmt.Fprintf(w.err, "%s: %s\n", slashed(record), oneLine(err))
		return
	}
	var sum tally
	sum.add(out)
	text := fmt.Sprintf("%s: %s\n", slashed(record), sum)
	_ = finding.WriteText(w.err, out.Findings)
	_, _ = io.WriteString(w.err, text)
}
