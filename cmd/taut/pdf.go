package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"example.org/taut/engine/build"
	"example.org/taut/engine/pdf"
)

// pdfOption is the option --pdf of a build.
type pdfOption struct {
	wanted  bool
	printer *pdf.Printer
}

// pdfHelp is what the help of a build says of it.
const pdfHelp = "With --pdf each page is printed to PDF too, NAME.pdf beside it, tagged and with an outline,\n" +
	"by an installed Chromium; TAUT_CHROMIUM names its program where it is not found. A PDF holds\n" +
	"the time at which it was printed, so that, unlike the page, its bytes are not the same twice."

func (o *pdfOption) add(f *flags) {
	f.yes(&o.wanted, "pdf", "print each page to PDF too, by an installed Chromium")
}

// ready finds the program, so that its lack is told before anything is built.
func (o *pdfOption) ready() (err error) {
	if o.wanted {
		o.printer, err = pdf.Find()
	}
	return err
}

// path is where the PDF of a page goes.
func (*pdfOption) path(page string) string {
	return strings.TrimSuffix(page, filepath.Ext(page)) + ".pdf"
}

// print prints a page that was made, or one that is up to date and whose PDF
// is not.
func (o *pdfOption) print(ctx context.Context, k *call, m *build.Made) error {
	if !o.wanted || m.Err != nil {
		return nil
	}
	to := o.path(m.Page)
	if m.Unchanged && isNewer(to, m.Page) {
		return nil
	}
	if err := isOurs(to); err != nil {
		return err
	}
	text, err := o.printer.Print(ctx, m.Page)
	if err != nil {
		return err
	}
	if err := build.WriteFile(to, text); err != nil {
		return err
	}
	_, err = fmt.Fprintln(k.out, slashed(to))
	return err
}

// isNewer reports whether a file is there and not older than another.
func isNewer(path, than string) bool {
	a, err := os.Stat(path)
	b, err2 := os.Stat(than)
	return err == nil && err2 == nil && !a.ModTime().Before(b.ModTime())
}

// isOurs refuses to write over what is no PDF.
func isOurs(path string) error {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err == nil && !info.Mode().IsRegular() {
		return fmt.Errorf("%s: this is no ordinary file", slashed(path)) // and might never end
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	head := make([]byte, 8)
	n, _ := f.Read(head)
	if n > 0 && !pdf.IsPDF(head[:n]) {
		return usageError(fmt.Sprintf("`%s` is there and no PDF: a build does not write over it", slashed(path)))
	}
	return nil
}
