package archive

import (
	"bytes"
	"encoding/json"
	"net/url"
	"path"
	"sort"
	"strconv"
	"strings"

	"example.org/taut/engine/build"
)

// crate describes the payload of a bag in JSON-LD, as RO-Crate 1.1 wants it:
// the record as a Dataset, each file, and the evaluation as a CreateAction with
// what it was made with (instrument), from (object), what came of it (result)
// and who did it (agent). Everything about a person is in one entity of its
// own: without it the crate is as valid as before.
type crate struct {
	out    *build.Output
	date   string
	files  map[string][]byte // the payload by path within the bag
	module string
}

// entity is one of the crate's @graph.
type entity map[string]any

func ref(id string) entity { return entity{"@id": id} }

func refs(ids []string) []entity {
	out := []entity{}
	for _, id := range ids {
		out = append(out, ref(id))
	}
	return out
}

// Identifiers of entities that are no files.
const (
	authorID     = "#author"
	evaluationID = "#evaluation"
	softwareID   = "#taut"
	apparatusID  = "#apparatus"
	rightsID     = "#rights"
	conformsTo   = "https://w3id.org/ro/crate/1.1"
)

func (c *crate) encode() ([]byte, error) {
	graph := []entity{
		{"@id": crateName, "@type": "CreativeWork", "conformsTo": ref(conformsTo), "about": ref("./")},
		c.dataset(),
	}
	graph = append(graph, c.fileEntities()...)
	graph = append(graph, c.action(), c.software())
	graph = append(graph, c.equipment()...)
	graph = append(graph, entity{"@id": rightsID, "@type": "CreativeWork", "name": "Rights in this record",
		"description": "No licence was stated when the record was sealed. Ask the laboratory that keeps the archive."})
	if author := c.out.Results.Record.Author; author != "" {
		graph = append(graph, entity{"@id": authorID, "@type": "Person", "name": author})
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(entity{"@context": conformsTo + "/context", "@graph": graph})
	return b.Bytes(), err
}

// dataset is the root data entity.
func (c *crate) dataset() entity {
	e := entity{"@id": "./", "@type": "Dataset", "name": c.out.Title, "datePublished": c.date, "license": ref(rightsID),
		"description": "A laboratory record with its page, its numbers and the files that it was made from.",
		"hasPart":     refs(c.ids("")), "mainEntity": ref(c.id(path.Join(sourceDir, c.out.Path))), "mentions": ref(evaluationID)}
	return c.withPerson(e, "author")
}

// withPerson names the author in an entity, where there is one.
func (c *crate) withPerson(e entity, property string) entity {
	if c.out.Results.Record.Author != "" {
		e[property] = ref(authorID)
	}
	return e
}

// id is the identifier of a file: its path below data/, as a URI.
func (c *crate) id(file string) string {
	parts := strings.Split(strings.TrimPrefix(file, "data/"), "/")
	for i, p := range parts {
		parts[i] = url.PathEscape(p)
	}
	return strings.Join(parts, "/")
}

// ids are those of the files below a folder, sorted.
func (c *crate) ids(dir string) []string {
	var out []string
	for p := range c.files {
		if strings.HasPrefix(p, dir) {
			out = append(out, c.id(p))
		}
	}
	sort.Strings(out)
	return out
}

func (c *crate) fileEntities() []entity {
	var paths []string
	for p := range c.files {
		paths = append(paths, p)
	}
	sort.Strings(paths)
	var out []entity
	for _, p := range paths {
		out = append(out, entity{"@id": c.id(p), "@type": "File", "name": c.nameOf(p), "encodingFormat": encodingOf(p),
			"contentSize": strconv.Itoa(len(c.files[p]))})
	}
	return out
}

func (c *crate) nameOf(p string) string {
	switch below, inSource := strings.CutPrefix(p, sourceDir+"/"); {
	case p == pageFile:
		return "The record as a page"
	case p == resultFile:
		return "The numbers of the record"
	case inSource && below == c.out.Path:
		return "The record as its author wrote it"
	case inSource && c.out.Results.Apparatus != nil && below == c.out.Results.Apparatus.Path:
		return "The apparatus and its instruments"
	case inSource && path.Base(p) == build.Marker:
		return "The mark of the folder below which the record's files are"
	case inSource:
		return "A file that the record reads: " + path.Base(p)
	}
	return "A file of the page's theme: " + path.Base(p)
}

// encodings are media types by the ending of a name.
var encodings = map[string]string{
	".md": "text/markdown", ".csv": "text/csv", ".tsv": "text/tab-separated-values", ".yaml": "application/yaml", ".yml": "application/yaml",
	".json": "application/json", ".html": "text/html", ".css": "text/css",
}

func encodingOf(p string) string {
	if e := encodings[strings.ToLower(path.Ext(p))]; e != "" {
		return e
	}
	return "text/plain"
}

func (c *crate) action() entity {
	instruments := []string{softwareID}
	for _, e := range c.equipment() {
		instruments = append(instruments, e["@id"].(string))
	}
	e := entity{"@id": evaluationID, "@type": "CreateAction", "name": "Evaluation of the record",
		"description": "The numbers were worked out from the readings, and the page was made of them.",
		"instrument":  refs(instruments), "object": refs(append(c.ids(sourceDir+"/"), c.ids(themeDir+"/")...)),
		"result": refs([]string{c.id(pageFile), c.id(resultFile)})}
	return c.withPerson(e, "agent")
}

func (c *crate) software() entity {
	e := entity{"@id": softwareID, "@type": "SoftwareApplication", "name": "Taut", "version": c.out.Results.Taut,
		"description": "The program that worked the record out and sealed it."}
	if c.module != "" {
		e["identifier"] = c.module
	}
	return e
}

// equipment is the apparatus and its instruments.
func (c *crate) equipment() []entity {
	var out []entity
	if a := c.out.Results.Apparatus; a != nil {
		e := entity{"@id": apparatusID, "@type": "IndividualProduct", "name": firstOf(a.Name, a.Identity, "apparatus")}
		set(e, "identifier", a.Identity)
		set(e, "description", a.Place)
		out = append(out, e)
	}
	var names []string
	for n := range c.out.Results.Instruments {
		names = append(names, n)
	}
	sort.Strings(names)
	for _, n := range names {
		in := c.out.Results.Instruments[n]
		e := entity{"@id": "#instrument-" + url.PathEscape(n), "@type": "IndividualProduct", "name": firstOf(in.What, n)}
		set(e, "serialNumber", in.Serial)
		if in.Due != "" {
			set(e, "description", "Calibration due "+in.Due)
		}
		out = append(out, e)
	}
	return out
}

func set(e entity, property, value string) {
	if value != "" {
		e[property] = value
	}
}

func firstOf(texts ...string) string {
	for _, t := range texts {
		if t != "" {
			return t
		}
	}
	return ""
}
