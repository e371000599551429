package preview

import (
	"crypto/subtle"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"

	"example.org/taut/engine/view"
)

// hosts are the names and addresses under which a server may be called. A
// page of another site cannot make a browser call it by any other, even where
// that name leads to this machine.
type hosts struct {
	port  string
	names map[string]bool
	any   bool // any number of an address will do: no name can pretend to be one
}

func answersTo(a net.Addr, o Options) hosts {
	h := hosts{names: map[string]bool{"localhost": true, "127.0.0.1": true, "::1": true}}
	host, port, err := net.SplitHostPort(a.String())
	if err == nil {
		h.port = port
		h.names[host] = true
	}
	for _, n := range o.Names {
		h.names[strings.ToLower(n)] = true
	}
	h.any = o.Token != ""
	return h
}

// allow reports whether a Host header is one of them.
func (h hosts) allow(host string) bool {
	name, port, err := net.SplitHostPort(host)
	if err != nil {
		name, port = strings.Trim(host, "[]"), "80"
	}
	if port != h.port {
		return false
	}
	if h.any {
		if _, err := netip.ParseAddr(name); err == nil {
			return true
		}
	}
	return h.names[strings.ToLower(name)]
}

// ServeHTTP implements http.Handler.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cache-Control", "no-store")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("X-Frame-Options", "DENY")
	h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
	switch {
	case !s.hosts.allow(r.Host):
		refuse(w, http.StatusMisdirectedRequest, "This server does not answer to that name.")
	case r.Method != http.MethodGet && r.Method != http.MethodHead:
		h.Set("Allow", "GET, HEAD")
		refuse(w, http.StatusMethodNotAllowed, "Pages can only be read.")
	case foreign(r):
		refuse(w, http.StatusForbidden, "Pages of other sites may not read this.")
	case !s.admits(w, r):
	case r.URL.Query().Has("live"):
		s.live(w, r)
	default:
		s.page(w, r)
	}
}

func refuse(w http.ResponseWriter, code int, why string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(code)
	_, _ = w.Write([]byte(why + "\n"))
}

// foreign reports whether a page of another site asks. Following a link is
// not asking: the other page does not see what comes.
func foreign(r *http.Request) bool {
	if o := r.Header.Get("Origin"); o != "" && o != "http://"+r.Host {
		return true
	}
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "same-origin", "none":
		return false
	}
	return r.Header.Get("Sec-Fetch-Mode") != "navigate" || r.Header.Get("Sec-Fetch-Dest") != "document"
}

// admits reports whether the request has shown the token. The one that shows
// it in its address gets a cookie, and is sent to the address without it.
func (s *Server) admits(w http.ResponseWriter, r *http.Request) bool {
	if s.o.Token == "" {
		return true
	}
	name := "taut-" + s.hosts.port // a cookie counts for every port of a host
	if given := r.URL.Query().Get("token"); given != "" && s.isToken(given) {
		http.SetCookie(w, &http.Cookie{Name: name, Value: s.o.Token, Path: "/", HttpOnly: true, SameSite: http.SameSiteLaxMode})
		u := url.URL{Path: r.URL.Path}
		http.Redirect(w, r, u.EscapedPath(), http.StatusSeeOther)
		return false
	}
	if c, err := r.Cookie(name); err == nil && s.isToken(c.Value) {
		return true
	}
	refuse(w, http.StatusForbidden, "Open the address that `taut watch` printed, with its token.")
	return false
}

func (s *Server) isToken(given string) bool {
	return subtle.ConstantTimeCompare([]byte(given), []byte(s.o.Token)) == 1
}

// page serves a page as the files are now.
func (s *Server) page(w http.ResponseWriter, r *http.Request) {
	if r.URL.Path == "/" && s.record != "" {
		http.Redirect(w, r, address(insideOf(s.record), view.AsRecord), http.StatusSeeOther)
		return
	}
	sh := s.sheetAt(r.URL.Path)
	if sh == nil {
		refuse(w, http.StatusNotFound, "There is no page here: only records have pages.")
		return
	}
	_, _ = s.build(sh, false) // what is wrong stands on the page
	s.mu.Lock()
	now := sh.now
	s.mu.Unlock()
	h := w.Header()
	h.Set("Content-Security-Policy", now.policy+"; frame-ancestors 'none'")
	h.Set("Content-Type", "text/html; charset=utf-8")
	_ = now.write(w)
}
