package preview

import (
	"bytes"
	"encoding/json"
	"net/http"
	"time"
)

// mostLooking is how many may look at pages at once.
const mostLooking = 200

// message is what the page is told of a newer one.
type message struct {
	Head  string `json:"head"`
	Title string `json:"title"`
	Page  string `json:"page"` // the body element
}

// live tells a page of each newer one, as server-sent events.
func (s *Server) live(w http.ResponseWriter, r *http.Request) {
	sh := s.sheetAt(r.URL.Path)
	if sh == nil {
		refuse(w, http.StatusNotFound, "There is no page here: only records have pages.")
		return
	}
	awake := make(chan struct{}, 1)
	if !s.join(sh, awake) {
		refuse(w, http.StatusServiceUnavailable, "Too many pages are open.")
		return
	}
	defer s.leave(sh, awake)
	w.Header().Set("Content-Type", "text/event-stream")
	out := http.NewResponseController(w)
	send := func(text []byte) bool {
		_ = out.SetWriteDeadline(time.Now().Add(10 * time.Second))
		_, err := w.Write(text)
		return err == nil && out.Flush() == nil
	}
	if !send([]byte("retry: 700\n\n")) {
		return
	}
	seen := r.Header.Get("Last-Event-ID")
	if seen == "" {
		seen = r.URL.Query().Get("live")
	}
	beat := time.NewTicker(20 * time.Second)
	defer beat.Stop()
	for {
		now, ended := s.present(sh)
		if ended {
			return
		}
		if now != nil && now.version != seen {
			if !send(event(now)) {
				return
			}
			seen = now.version
		}
		select {
		case <-r.Context().Done():
			return
		case <-awake:
		case <-beat.C:
			if !send([]byte(":\n\n")) {
				return
			}
		}
	}
}

func event(now *shown) []byte {
	var b bytes.Buffer
	b.WriteString("event: page\nid: " + now.version + "\ndata: ")
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	_ = e.Encode(message{now.head, now.title, string(now.body)}) // strings alone; it ends the line
	b.WriteString("\n")
	return b.Bytes()
}

func (s *Server) join(sh *sheet, awake chan struct{}) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := 0
	for _, each := range s.sheets {
		n += len(each.looking)
	}
	if n >= mostLooking {
		return false
	}
	sh.looking[awake] = true
	select {
	case s.opened <- struct{}{}:
	default:
	}
	return true
}

func (s *Server) leave(sh *sheet, awake chan struct{}) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(sh.looking, awake)
}

// present is what is served now, and whether the server ends.
func (s *Server) present(sh *sheet) (*shown, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return sh.now, s.closed
}
