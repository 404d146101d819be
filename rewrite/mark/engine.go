package mark

import (
	"strings"

	"gaugewright/grammar"
)

// Decided marks a text with some of its doubts settled: by the place of the doubt, the reading that was chosen.
func Decided(name string, src []byte, settled map[int]int) (*Marking, grammar.Diagnostics) {
	pl, diags := grammar.ReadPlain(name, src)
	if pl == nil {
		return nil, diags
	}
	e := &engine{name: name, src: src, pl: pl, settled: settled}
	e.find()
	return e.marking(), diags
}

// engine is one marking under way.
type engine struct {
	name    string
	src     []byte
	pl      *grammar.Plain
	settled map[int]int
	found   []candidate
}

func (e *engine) find() {
	for i := range e.pl.Prose {
		s := &e.pl.Prose[i]
		f := &finder{pl: e.pl, s: s, w: s.Words, done: make([]bool, len(s.Words))}
		e.found = append(e.found, f.find()...)
	}
}

func (e *engine) marking() *Marking {
	m := &Marking{Old: e.src}
	for i := range e.found {
		c := &e.found[i]
		s := c.span()
		m.Found = append(m.Found, Found{Start: s.Start, End: s.End, Kind: c.kind, Text: strings.Join(strings.Fields(e.pl.File.Text(s)), " ")})
		m.Inserted = append(m.Inserted, Insert{s.Start, "{"}, Insert{s.End, "}"})
	}
	inOrder(m.Inserted)
	m.New = apply(e.src, m.Inserted)
	m.File, m.Checked = grammar.Parse(e.name, m.New)
	return m
}
