package main

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strings"
	"time"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/source"
	"example.org/taut/engine/stat"
)

// day is the date of a part of the year, some days later.
func day(part float64, later int) string {
	from, err := time.Parse(time.DateOnly, firstDay)
	if err != nil {
		panic(err) // a constant of this program
	}
	return from.AddDate(0, 0, int(math.Round(part*yearDays))+later).Format(time.DateOnly)
}

// chance is a number that depends on the seed and a purpose.
func chance(seed, purpose string) uint64 {
	sum := sha256.Sum256([]byte("archive\x00" + seed + "\x00" + purpose))
	return binary.BigEndian.Uint64(sum[:])
}

// record makes the files of record i of count, and names their folder.
func (a *frame) record(i, count int, seed string) (files map[string]string, folder string, err error) {
	part := float64(i) / float64(count-1)
	fitted := a.fitted(part)
	w := fitted[len(fitted)-1]
	m, err := a.settled(part, w)
	if err != nil {
		return nil, "", err
	}
	purpose := fmt.Sprintf("%s %d", a.identity, i)
	readings, findings := m.Simulate(chance(seed, purpose), nil, false)
	if readings == nil {
		return nil, "", errors.Join(asErrors(findings)...)
	}
	files = m.Scaffold(a.method, readings)
	files[method.ApparatusName] = a.file(part, zeros(stat.NewStream(chance(seed, purpose), "zero", 0)))
	date := day(part, 0)
	files[method.RecordName] = a.dressed(files[method.RecordName], w, date, i)
	return files, date, nil
}

// settled is the method with its truths chosen: the statements of its
// simulation, replaced by those of the apparatus and of the wire.
func (a *frame) settled(part float64, w wire) (*method.Method, error) {
	f, ok := blocks.Built().Method(a.method)
	if !ok {
		return nil, fmt.Errorf("there is no method %s", a.method)
	}
	text := string(f.Text)
	for _, truths := range []map[string]string{a.truths(part), w.truths} {
		for name, x := range truths {
			line := regexp.MustCompile(`(?m)^` + name + `( *)= .*$`)
			if len(line.FindAllString(text, -1)) != 1 {
				return nil, fmt.Errorf("the simulation of %s has not one statement %s", a.method, name)
			}
			text = line.ReplaceAllString(text, name+"$1= "+x)
		}
	}
	var set finding.Set
	m := method.Read(source.NewFile(f.Name, []byte(text)), block.KindNames(blocks.All()), &set)
	if set.Count(finding.Error) > 0 {
		return nil, errors.Join(asErrors(set.Sorted())...)
	}
	return m, nil
}

func asErrors(list []*finding.Finding) []error {
	var out []error
	for _, f := range list {
		out = append(out, errors.New(f.String()))
	}
	return out
}

// zeros makes five zero readings by a screw of 0.01 mm about a true zero, each
// with the scatter of a hand, and writes them as an apparatus file has them.
func zeros(s *stat.Stream) func(true float64) string {
	return func(true float64) string {
		scatter := make([]float64, 5)
		stat.Normal().Fill(scatter, s)
		var out []string
		for _, z := range scatter {
			v := math.Round((true + float64(z*0.004)) * 100)
			out = append(out, fmt.Sprintf("%+.2f mm", v/100))
		}
		return "[" + strings.Join(out, ", ") + "]"
	}
}

// dressed is the record with a head that tells what it is.
func (a *frame) dressed(text string, w wire, date string, i int) string {
	_, rest, _ := strings.Cut(text, "\n---\n")
	return fmt.Sprintf("---\ntitle: %s of wire %s, group %d\nauthor: class 12, group %d (invented)\ndate: %s\napparatus: %s\n---\n\n"+
		"*An invented record: the school, the apparatus and the readings are made up.*\n%s", a.title, w.name, i%5+1, i%5+1, date, method.ApparatusName, rest)
}
