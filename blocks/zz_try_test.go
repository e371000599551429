package blocks

import (
	"fmt"
	"os"
	"testing"

	"example.org/taut/engine/page"
	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/themes"
)

func TestTry(t *testing.T) {
	th, err := themes.Load("bench")
	if err != nil { t.Fatal(err) }
	_ = th
	out, err := build.Record("../examples/steel-wire/record.md", build.Options{Kinds: All(), Library: Built(), Themes: ths{}, Version: "dev"})
	if err != nil { t.Fatal(err) }
	finding.WriteText(os.Stdout, out.Findings)
	os.WriteFile("/tmp/tt/out.html", out.HTML, 0o644)
	fmt.Printf("%T\n", out.Results)
}

type ths struct{}
func (ths) Names() []string { return themes.Names() }
func (ths) Load(n string) (*page.Theme, error) { return themes.Load(n) }
