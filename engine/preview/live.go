package preview

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"time"
)

// mostLooking is how many may look at pages at once.
const mostLooking = 200

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
	version := r.Header.Get("Last-Event-ID")
	if version == "" {
		version = r.URL.Query().Get("live")
	}
	var seen *shown // what the page is; nil where that is not known
	if now, _ := s.present(sh); now != nil && now.version == version {
		seen = now
	}
	beat := time.NewTicker(20 * time.Second)
	defer beat.Stop()
	for {
		now, ended := s.present(sh)
		if ended {
			return
		}
		if now != nil && now != seen {
			if !send(event(seen, now)) {
				return
			}
			seen = now
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

// event is a change as an event: the sum of the head, the title, and the edits
// that make the body of one page that of the other.
func event(from, to *shown) []byte {
	list := anew(to.body)
	if from != nil && from.apart && to.apart {
		list = edits(from.nodes, to.nodes)
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "event: page\nid: %s\ndata: %s\ndata: %s\ndata: ", to.version, to.head, oneLine(to.title))
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(list); err != nil { // ends the line
		panic(err) // they hold numbers and texts
	}
	b.WriteByte('\n')
	return b.Bytes()
}

// onlyNewlines ends each line as a browser does that reads a page: elsewhere a
// carriage return would end a line of the event.
func onlyNewlines(text []byte) []byte {
	if bytes.IndexByte(text, '\r') < 0 {
		return text
	}
	return bytes.ReplaceAll(bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n")), []byte("\r"), []byte("\n"))
}

// oneLine is a title as a browser shows it.
func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }

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
