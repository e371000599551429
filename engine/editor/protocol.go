package editor

import "encoding/json"

// What of the Language Server Protocol, version 3.17, is spoken here. Names
// and numbers are the protocol's.

type position struct {
	Line      int `json:"line"`      // from 0
	Character int `json:"character"` // from 0, in the units agreed upon
}

type textRange struct {
	Start position `json:"start"`
	End   position `json:"end"`
}

type location struct {
	URI   string    `json:"uri"`
	Range textRange `json:"range"`
}

type initializeParams struct {
	Capabilities struct {
		General struct {
			PositionEncodings []string `json:"positionEncodings"`
		} `json:"general"`
	} `json:"capabilities"`
}

type initializeResult struct {
	Capabilities capabilities `json:"capabilities"`
	ServerInfo   serverInfo   `json:"serverInfo"`
}

type serverInfo struct {
	Name    string `json:"name"`
	Version string `json:"version"`
}

type capabilities struct {
	PositionEncoding   string            `json:"positionEncoding"`
	TextDocumentSync   syncOptions       `json:"textDocumentSync"`
	HoverProvider      bool              `json:"hoverProvider"`
	DefinitionProvider bool              `json:"definitionProvider"`
	CompletionProvider completionOptions `json:"completionProvider"`
}

type syncOptions struct {
	OpenClose bool        `json:"openClose"`
	Change    int         `json:"change"`
	Save      saveOptions `json:"save"`
}

type saveOptions struct {
	IncludeText bool `json:"includeText"`
}

// fullSync: a change brings the whole text.
const fullSync = 1

type completionOptions struct {
	TriggerCharacters []string `json:"triggerCharacters"`
}

type documentItem struct {
	URI     string `json:"uri"`
	Version int    `json:"version"`
	Text    string `json:"text"`
}

type didOpenParams struct {
	TextDocument documentItem `json:"textDocument"`
}

type didChangeParams struct {
	TextDocument   documentItem `json:"textDocument"`
	ContentChanges []struct {
		Range *json.RawMessage `json:"range"`
		Text  string           `json:"text"`
	} `json:"contentChanges"`
}

type documentParams struct {
	TextDocument struct {
		URI string `json:"uri"`
	} `json:"textDocument"`
}

type watchedParams struct {
	Changes []struct {
		URI string `json:"uri"`
	} `json:"changes"`
}

type positionParams struct {
	TextDocument struct {
		URI string `json:"uri"`
	} `json:"textDocument"`
	Position position `json:"position"`
}

type publishParams struct {
	URI         string       `json:"uri"`
	Diagnostics []diagnostic `json:"diagnostics"`
}

type diagnostic struct {
	Range    textRange `json:"range"`
	Severity int       `json:"severity"`
	Code     string    `json:"code"`
	Source   string    `json:"source"`
	Message  string    `json:"message"`
	Related  []related `json:"relatedInformation,omitempty"`
}

type related struct {
	Location location `json:"location"`
	Message  string   `json:"message"`
}

// Severities of diagnostics.
const (
	severityError       = 1
	severityWarning     = 2
	severityInformation = 3
)

type hover struct {
	Contents markup    `json:"contents"`
	Range    textRange `json:"range"`
}

type markup struct {
	Kind  string `json:"kind"` // "plaintext" or "markdown"
	Value string `json:"value"`
}

type completionList struct {
	IsIncomplete bool             `json:"isIncomplete"`
	Items        []completionItem `json:"items"`
}

type completionItem struct {
	Label         string   `json:"label"`
	Kind          int      `json:"kind"`
	Detail        string   `json:"detail,omitempty"`
	Documentation string   `json:"documentation,omitempty"`
	TextEdit      textEdit `json:"textEdit"`
}

type textEdit struct {
	Range   textRange `json:"range"`
	NewText string    `json:"newText"`
}

// Kinds of completions.
const (
	completeFunction = 3
	completeVariable = 6
	completeProperty = 10
	completeUnit     = 11
	completeKeyword  = 14
	completeConstant = 21
)
