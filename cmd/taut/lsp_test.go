package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// editorClient is a scripted editor. It frames its messages by itself, from
// the base protocol of the Language Server Protocol 3.17, and not by the
// library that the program uses.
type editorClient struct {
	t       *testing.T
	to      io.WriteCloser
	from    *bufio.Reader
	errs    *bytes.Buffer
	code    chan int
	id      int
	said    map[string][]diagnosed // the latest by URI
	noticed []string               // URIs in the order of the notices
}

type diagnosed struct {
	Range    struct{ Start, End struct{ Line, Character int } }
	Severity int
	Code     string
	Message  string
	Related  []struct {
		Location struct{ URI string }
	} `json:"relatedInformation"`
}

func startEditor(t *testing.T) *editorClient {
	t.Helper()
	inRead, inWrite := io.Pipe()
	outRead, outWrite := io.Pipe()
	c := &editorClient{t: t, to: inWrite, from: bufio.NewReader(outRead), errs: &bytes.Buffer{}, code: make(chan int, 1), said: map[string][]diagnosed{}}
	go func() {
		c.code <- run([]string{"lsp"}, inRead, outWrite, c.errs)
		outWrite.Close()
	}()
	t.Cleanup(func() { inWrite.Close() })
	return c
}

func (c *editorClient) send(text string) {
	if _, err := fmt.Fprintf(c.to, "Content-Length: %d\r\n\r\n%s", len(text), text); err != nil {
		c.t.Error(err) // who waits for the answer then hears nothing, and says so
	}
}

func (c *editorClient) notify(method string, params any) {
	c.t.Helper()
	c.send(jsonText(c.t, map[string]any{"jsonrpc": "2.0", "method": method, "params": params}))
}

// ask sends a request and returns the result, or the error's message.
func (c *editorClient) ask(method string, params any) (result json.RawMessage, failure string) {
	c.t.Helper()
	c.id++
	go c.send(jsonText(c.t, map[string]any{"jsonrpc": "2.0", "id": c.id, "method": method, "params": params}))
	for {
		m := c.read()
		if m.Method != "" {
			c.take(m)
			continue
		}
		if m.ID == nil || *m.ID != c.id {
			c.t.Fatalf("an answer to %v, not to %d", m.ID, c.id)
		}
		if m.Error != nil {
			return nil, m.Error.Message
		}
		return m.Result, ""
	}
}

type rpcMessage struct {
	ID     *int
	Method string
	Params json.RawMessage
	Result json.RawMessage
	Error  *struct{ Message string }
}

func (c *editorClient) read() rpcMessage {
	c.t.Helper()
	length := -1
	for {
		line, err := c.from.ReadString('\n')
		if err != nil {
			c.t.Fatalf("the server is silent: %v; it says %s", err, c.errs)
		}
		line = strings.TrimRight(line, "\r\n")
		if line == "" {
			break
		}
		if n, ok := strings.CutPrefix(line, "Content-Length: "); ok {
			length, _ = strconv.Atoi(n)
		}
	}
	text := make([]byte, length)
	if _, err := io.ReadFull(c.from, text); err != nil {
		c.t.Fatal(err)
	}
	var m rpcMessage
	if err := json.Unmarshal(text, &m); err != nil {
		c.t.Fatal(err)
	}
	return m
}

func (c *editorClient) take(m rpcMessage) {
	c.t.Helper()
	var p struct {
		URI         string
		Diagnostics []diagnosed
	}
	if m.Method != "textDocument/publishDiagnostics" || json.Unmarshal(m.Params, &p) != nil {
		c.t.Fatalf("%s was not expected", m.Method)
	}
	c.said[p.URI] = p.Diagnostics
	c.noticed = append(c.noticed, p.URI)
}

// until sends a notification and reads until so many files were spoken of.
func (c *editorClient) until(n int, method string, params any) {
	c.t.Helper()
	done := make(chan struct{})
	go func() { c.notify(method, params); close(done) }()
	for range n {
		c.take(c.read())
	}
	<-done
}

func jsonText(t *testing.T, v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		t.Error(err)
	}
	return string(text)
}

func fileURI(path string) string { return (&url.URL{Scheme: "file", Path: path}).String() }

func opened(uri, text string) any {
	return map[string]any{"textDocument": map[string]any{"uri": uri, "languageId": "markdown", "version": 1, "text": text}}
}

func changed(uri, text string) any {
	return map[string]any{"textDocument": map[string]any{"uri": uri, "version": 2}, "contentChanges": []any{map[string]any{"text": text}}}
}

// at is the position of a mark in a text, and the text without the mark. The
// character is counted in UTF-16.
func at(t *testing.T, uri, text, word string, inside int) any {
	t.Helper()
	i := strings.Index(text, word)
	if i < 0 {
		t.Fatalf("%q does not stand in the text", word)
	}
	i += inside
	line := strings.Count(text[:i], "\n")
	character := 0
	for _, r := range text[strings.LastIndexByte(text[:i], '\n')+1 : i] {
		character += 1 + b2i(r > 0xFFFF)
	}
	return map[string]any{"textDocument": map[string]any{"uri": uri}, "position": map[string]any{"line": line, "character": character}}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

const editedRecord = `---
title: A wire 𝑤
date: 2026-03-12
---

` + "```instruments\nscrew: {resolution: 0.01 mm, zero: +0.02 mm}\n```" + `

` + "```data pull from=pull.csv\n```" + `

` + "```fit line\ny: pull.up\nx: pull.load\n```" + `

` + "```calc\nL = 2.846 m ± 1 mm\nA = 0.196 mm^2\nE = 9.81 m/s^2 * L / (A * line.slope) in GPa | by the graph\n```" + `

𝑤 has =[E in GPa] and =[nothing].

` + "```practical young method=stretched-wire\nlength = L\n```\n"

func editorFolder(t *testing.T) (dir, uri, csv string) {
	dir, err := filepath.EvalSymlinks(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	csv = filepath.Join(dir, "pull.csv")
	if err := os.WriteFile(csv, []byte("load / kg, up / mm @screw\n0.5, 2.16\n1.0, 2.43\n1.5, 2.72\n2.0, 3.00\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	return dir, fileURI(filepath.Join(dir, "a wire.md")), fileURI(csv)
}

func TestEditor(t *testing.T) {
	c := startEditor(t)
	_, uri, csv := editorFolder(t)
	if _, failure := c.ask("textDocument/hover", at(t, uri, "x", "x", 0)); !strings.Contains(failure, "`initialize` comes first") {
		t.Errorf("before initialize: %q", failure)
	}
	result, _ := c.ask("initialize", map[string]any{"capabilities": map[string]any{}})
	if !strings.Contains(string(result), `"positionEncoding":"utf-16"`) || !strings.Contains(string(result), version) {
		t.Errorf("initialize answers %s", result)
	}
	c.notify("initialized", map[string]any{})

	// Findings stand at their place, counted in UTF-16.
	c.until(1, "textDocument/didOpen", opened(uri, editedRecord))
	found := ""
	for _, d := range c.said[uri] {
		if d.Code == "undefined" {
			found = fmt.Sprint(d.Range.Start, d.Severity, d.Message)
		}
	}
	if !strings.Contains(found, "{23 25} 1`nothing` is not defined") {
		t.Errorf("the undefined name is found at %s; all: %+v", found, c.said[uri])
	}

	// Hover: value, uncertainty, unit, label, definition.
	for _, h := range []struct {
		word   string
		inside int
		want   []string
	}{
		{"=[E in GPa]", 3, []string{"E = (", "GPa", "by the graph", "line.slope", "line 21"}},
		{"line.slope", 6, []string{"line.slope = (", "mm/kg"}},
		{"line.slope", 1, []string{"line", "pull.load"}},
		{"pull.up\n", 6, []string{"pull.up", "4"}},
		{"```fit", 4, []string{"fit: "}},
		{"stretched-wire", 3, []string{"stretched-wire: Young's modulus"}},
		{"length = L", 2, []string{"length: ", "chuck to chuck"}},
	} {
		result, failure := c.ask("textDocument/hover", at(t, uri, editedRecord, h.word, h.inside))
		for _, w := range h.want {
			if !strings.Contains(string(result), w) {
				t.Errorf("hover over %q says %s %s, without %q", h.word, result, failure, w)
			}
		}
	}
	if result, _ := c.ask("textDocument/hover", at(t, uri, editedRecord, "has", 1)); string(result) != "null" {
		t.Errorf("hover over prose says %s", result)
	}

	// Definitions, in the record and in the file that it reads.
	for _, d := range []struct {
		word       string
		inside     int
		uri        string
		line, char int
	}{
		{"=[E in GPa]", 2, uri, 20, 0},
		{"line.slope", 1, uri, 12, 7},
		{"pull.up\n", 6, csv, 0, 11},
	} {
		result, _ := c.ask("textDocument/definition", at(t, uri, editedRecord, d.word, d.inside))
		var l struct {
			URI   string
			Range struct{ Start struct{ Line, Character int } }
		}
		if err := json.Unmarshal(result, &l); err != nil || l.URI != d.uri || l.Range.Start.Line != d.line || l.Range.Start.Character != d.char {
			t.Errorf("the definition of %q is at %s", d.word, result)
		}
	}

	// Completion.
	for _, f := range []struct {
		text, typed string // what is put at the end of the record, and where one stands in it
		want        []string
		not         []string
	}{
		{"```calc\nX = li\n```\n", "X = li", []string{"line"}, []string{"fit"}},
		{"```calc\nX = line.sl\n```\n", "X = line.sl", []string{"line.slope"}, []string{"line.intercept", "line"}},
		{"```calc\nX = pai\n```\n", "X = pai", []string{"pairs"}, nil},
		{"```calc\nX = 3 k\n```\n", "X = 3 k", []string{"kg", "kN"}, []string{"k"}},
		{"```calc\nX = 3 m @sc\n```\n", "X = 3 m @sc", []string{"@screw"}, []string{"screw"}},
		{"and =[lin\n", "=[lin", []string{"line"}, nil},
		{"```fi", "```fi", []string{"fit"}, nil},
		{"```fit other pr\n```\n", "other pr", []string{"print="}, nil},
		{"```fit other\nmo\n```\n", "other\nmo", []string{"model: "}, nil},
		{"```practical p method=stret\n```\n", "p method=stret", []string{"stretched-wire"}, nil},
		{"```practical p method=stretched-wire\ndia\n```\n", "\ndia", []string{"diameter = "}, nil},
		{"```practical p method=stretched-wire\nmaterial = ste\n```\n", "material = ste", []string{"steel"}, nil},
	} {
		text := editedRecord + "\n" + f.text
		c.until(1, "textDocument/didChange", changed(uri, text))
		place := at(t, uri, text, f.typed, len(f.typed))
		result, failure := c.ask("textDocument/completion", place)
		var list struct {
			Items []struct{ Label string }
		}
		if err := json.Unmarshal(result, &list); err != nil {
			t.Fatalf("%v: %s %s", err, result, failure)
		}
		labels := map[string]bool{}
		for _, i := range list.Items {
			labels[i.Label] = true
		}
		for _, w := range f.want {
			if !labels[w] {
				t.Errorf("after %q is not offered %q but %v", f.typed, w, labels)
			}
		}
		for _, w := range f.not {
			if labels[w] {
				t.Errorf("after %q is offered %q", f.typed, w)
			}
		}
	}

	// A change of an unsaved data file is seen at once, and its faults stand in
	// it; closed, the file on the disk counts.
	c.until(1, "textDocument/didChange", changed(uri, editedRecord))
	c.until(2, "textDocument/didOpen", opened(csv, "load / kg, up / mm @screw\n0.5, x\n"))
	if len(c.said[csv]) == 0 {
		t.Errorf("nothing is said of the data file")
	}
	c.until(2, "textDocument/didClose", map[string]any{"textDocument": map[string]any{"uri": csv}})
	if len(c.said[csv]) != 0 {
		t.Errorf("of the data file is still said %v", c.said[csv])
	}

	// A method file, and a text that is neither.
	method := strings.TrimSuffix(uri, "a%20wire.md") + "own.md"
	c.until(2, "textDocument/didOpen", opened(method, "---\nmethod: own\ntitle: Own\nversion: one\nresults: E\n---\n"))
	if len(c.said[method]) == 0 {
		t.Error("nothing is said of a faulty method")
	}
	c.until(2, "textDocument/didClose", map[string]any{"textDocument": map[string]any{"uri": method}})

	// What is not understood is told, and does not end the service.
	if _, failure := c.ask("textDocument/rename", map[string]any{}); !strings.Contains(failure, "is not answered") {
		t.Errorf("an unknown request: %q", failure)
	}
	if _, failure := c.ask("textDocument/hover", []int{1}); failure == "" {
		t.Error("faulty parameters were taken")
	}
	if _, failure := c.ask("shutdown", nil); failure != "" {
		t.Error(failure)
	}
	if _, failure := c.ask("textDocument/hover", at(t, uri, "x", "x", 0)); failure == "" {
		t.Error("a request after shutdown was answered")
	}
	c.notify("exit", nil)
	if code := <-c.code; code != exitOK {
		t.Errorf("exit code %d; %s", code, c.errs)
	}
}

// TestEditorTyping types a whole record character by character and asks at
// every one: nothing may end the service.
func TestEditorTyping(t *testing.T) {
	c := startEditor(t)
	_, uri, _ := editorFolder(t)
	c.ask("initialize", map[string]any{"capabilities": map[string]any{"general": map[string]any{"positionEncodings": []string{"utf-8"}}}})
	c.until(1, "textDocument/didOpen", opened(uri, ""))
	step := 7
	if !testing.Short() {
		step = 3
	}
	for i := 1; i <= len(editedRecord); i += step {
		text := editedRecord[:i]
		go c.notify("textDocument/didChange", changed(uri, text))
		place := at(t, uri, text, text, len(text))
		for _, method := range []string{"textDocument/completion", "textDocument/hover", "textDocument/definition"} {
			if _, failure := c.ask(method, place); failure != "" {
				t.Fatalf("after %q: %s", text, failure)
			}
		}
	}
	c.to.Close()
	if code := <-c.code; code != exitErrors || c.errs.Len() > 0 {
		t.Errorf("left without shutdown: exit code %d, %s", code, c.errs)
	}
}
