package archive

import (
	"encoding/json"
	"fmt"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
)

// graph is a crate's @graph by @id.
type graph map[string]map[string]any

// checkCrate holds a crate to what the RO-Crate Metadata Specification 1.1
// demands and we use of it (sections by their names there; read from memory,
// as no copy was at hand). files are the payload's paths below the crate.
func checkCrate(text string, files []string) []string {
	var wrong []string
	complain := func(format string, args ...any) { wrong = append(wrong, fmt.Sprintf(format, args...)) }
	var doc struct {
		Context any              `json:"@context"`
		Graph   []map[string]any `json:"@graph"`
	}
	if err := json.Unmarshal([]byte(text), &doc); err != nil {
		return []string{err.Error()}
	}
	// "RO-Crate JSON-LD": the context; a flat @graph, in which each entity has
	// an @id, that no other has, and an @type.
	if doc.Context != "https://w3id.org/ro/crate/1.1/context" {
		complain("@context is %v", doc.Context)
	}
	g := graph{}
	for _, e := range doc.Graph {
		id, _ := e["@id"].(string)
		if id == "" || e["@type"] == nil || g[id] != nil {
			complain("entity %v", e)
		}
		g[id] = e
		for k, v := range e {
			if nested(v) {
				complain("%s of %s is nested, where a reference is due", k, id)
			}
		}
	}
	need := func(id, property string) string {
		switch v := g[id][property].(type) {
		case string:
			if strings.TrimSpace(v) != "" {
				return v
			}
		case map[string]any:
			return fmt.Sprint(v["@id"])
		}
		complain("%s has no %s", id, property)
		return ""
	}
	// "Root Data Entity", its table: the descriptor, and the entity that it is
	// about.
	d := "ro-crate-metadata.json"
	if need(d, "@type") != "CreativeWork" || need(d, "about") != "./" || need(d, "conformsTo") != "https://w3id.org/ro/crate/1.1" {
		complain("the descriptor is %v", g[d])
	}
	if need("./", "@type") != "Dataset" {
		complain("the root is %v", g["./"])
	}
	need("./", "name")
	need("./", "description")
	if _, err := time.Parse(time.DateOnly, need("./", "datePublished")); err != nil {
		complain("%v", err)
	}
	if l := need("./", "license"); g[l] == nil {
		complain("the licence %s is not described", l)
	} else {
		need(l, "name")
		need(l, "description")
	}
	// "Data Entities": each file is one, reached from the root by hasPart, and
	// its @id is a relative URI of a file that is there.
	var listed []string
	for _, id := range ids(g["./"]["hasPart"]) {
		path, err := url.PathUnescape(id)
		if err != nil || g[id]["@type"] != "File" {
			complain("part %s is %v", id, g[id])
		}
		listed = append(listed, path)
		need(id, "name")
		if !regexp.MustCompile(`^[a-z]+/[a-z-]+$`).MatchString(need(id, "encodingFormat")) || !regexp.MustCompile(`^\d+$`).MatchString(need(id, "contentSize")) {
			complain("file %s is %v", id, g[id])
		}
	}
	slices.Sort(listed)
	slices.Sort(files)
	if !slices.Equal(listed, files) {
		complain("the parts are %v, the files %v", listed, files)
	}
	// "Provenance of entities", "Software used to create files": a CreateAction
	// with instrument, object and result, all described, and an agent.
	var actions []string
	for id, e := range g {
		if e["@type"] == "CreateAction" {
			actions = append(actions, id)
		}
	}
	if len(actions) != 1 {
		complain("%d actions", len(actions))
		return wrong
	}
	a := actions[0]
	need(a, "name")
	for _, property := range []string{"instrument", "object", "result"} {
		list := ids(g[a][property])
		if len(list) == 0 {
			complain("the action has no %s", property)
		}
		for _, id := range list {
			if g[id] == nil {
				complain("%s %s is not described", property, id)
			}
		}
	}
	software := 0
	for _, id := range ids(g[a]["instrument"]) {
		switch g[id]["@type"] {
		case "SoftwareApplication":
			software++
			need(id, "version")
		case "IndividualProduct": // "Provenance of entities", "Recording … equipment"
		default:
			complain("instrument %s is %v", id, g[id])
		}
		need(id, "name")
	}
	if software != 1 {
		complain("%d programs", software)
	}
	return wrong
}

// nested reports whether a property holds an entity and not a reference to it.
func nested(v any) bool {
	switch v := v.(type) {
	case map[string]any:
		return len(v) != 1 || v["@id"] == nil
	case []any:
		return slices.ContainsFunc(v, nested)
	}
	return false
}

func ids(v any) []string {
	switch v := v.(type) {
	case []any:
		var out []string
		for _, x := range v {
			out = append(out, ids(x)...)
		}
		return out
	case map[string]any:
		if id, ok := v["@id"].(string); ok {
			return []string{id}
		}
	}
	return nil
}

// TestCrate holds the metadata of a bag to the specification, and those from
// which the person was taken.
func TestCrate(t *testing.T) {
	archive := signedArchive(t)
	text := hurt{t, archive}.read(bagA + "/data/" + crateName)
	var files []string
	for name := range tree(t, archive) {
		if below, ok := strings.CutPrefix(name, bagA+"/data/"); ok && !strings.HasSuffix(name, "/") && below != crateName {
			files = append(files, below)
		}
	}
	for _, w := range checkCrate(text, files) {
		t.Error(w)
	}
	for _, want := range []string{"R. Thornbury", `"T-5"`, `"steel tape"`, `"WF 7"`} {
		if !strings.Contains(text, want) {
			t.Errorf("the crate does not tell of %s", want)
		}
	}
	// Persons are separable: without the entity nothing tells who it was, and
	// all else is as it should be.
	var doc map[string]any
	if err := json.Unmarshal([]byte(text), &doc); err != nil {
		t.Fatal(err)
	}
	doc["@graph"] = slices.DeleteFunc(doc["@graph"].([]any), func(e any) bool { return e.(map[string]any)["@type"] == "Person" })
	bare, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range checkCrate(string(bare), files) {
		t.Error(w)
	}
	if strings.Contains(string(bare), "Thornbury") {
		t.Error("the person is named elsewhere too")
	}
	// The check itself sees faults.
	for from, to := range map[string]string{`"CreateAction"`: `"Action"`, `"datePublished"`: `"date"`, `"record.html"`: `"page.html"`, `"about"`: `"of"`,
		"crate/1.1/context": "crate/1.0/context", `"SoftwareApplication"`: `"Thing"`, `"license"`: `"rights"`} {
		if len(checkCrate(strings.Replace(text, from, to, 1), files)) == 0 {
			t.Errorf("%s for %s is not seen", to, from)
		}
	}
}
