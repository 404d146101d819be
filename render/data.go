package render

import (
	"bytes"
	"encoding/json"
	"math/big"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// version is that of the data other programs read: it grows when a field changes its name or its meaning.
const version = 1

type changesData struct {
	Version     int
	Draft       string
	Sizes       []string
	Gauges      []gaugeData
	Numbers     []numberData
	Proven      bool
	Assumptions []string
	Warnings    []string
}

type gaugeData struct {
	Fabric  string      `json:"fabric"`
	From    stitchesFor `json:"from"`
	To      stitchesFor `json:"to"`
	Assumed bool        `json:"assumed"`
}

type stitchesFor struct {
	Stitches string `json:"stitches"`
	Rows     string `json:"rows"`
	Over     string `json:"over_cm"`
}

type numberData struct {
	Name     string    `json:"name"`
	Line     int       `json:"line"`
	Column   int       `json:"column"`
	Piece    string    `json:"piece"`
	Phrase   string    `json:"phrase"`
	Kind     string    `json:"kind"`
	From     []any     `json:"from"`
	To       []any     `json:"to"`
	Wanted   []*string `json:"wanted_cm"`
	Measures []*string `json:"measures_cm"`
	Tied     bool      `json:"tied"`
	Assumed  bool      `json:"assumed"`
	// Only where a swatch says how long the cloth is on the needles.
	Rows      []any     `json:"rows,omitempty"`
	OnNeedles []*string `json:"on_needles_cm,omitempty"`
}

// ChangesJSON is the conversion as data, version 1: one entry for each number of a marked instruction, in the order of
// the draft. line and column are those of the instruction's opening brace, counted from 1, columns in characters. kind
// is what the number counts, or the unit it is written in. Counts are integers; lengths and amounts are decimal strings
// in the unit that kind names, exact where they can be, else with six decimals. wanted_cm and measures_cm have one entry
// a size and are empty where the number has no size of its own. With a swatch that was measured before and after washing, a
// length that is worked to has two fields more: rows, as many as it takes in all, and on_needles_cm, how long they are
// before washing; wanted_cm and measures_cm are finished lengths. Cautions come first among the warnings.
func ChangesJSON(c *rewrite.Conversion) ([]byte, error) {
	f := c.Draft.File
	d := changesData{Version: version, Draft: f.Name, Proven: c.Proven, Sizes: []string{}, Gauges: []gaugeData{}, Numbers: []numberData{},
		Assumptions: append([]string{}, c.Assumptions...), Warnings: append(append([]string{}, c.Cautions...), c.Warnings...)}
	for _, t := range c.Targets {
		d.Sizes = append(d.Sizes, t.Name)
	}
	for _, g := range c.Gauges {
		d.Gauges = append(d.Gauges, gaugeData{g.Fabric, gaugeFor(g.From, g.Over), gaugeFor(g.To, g.Over), g.Assumed})
	}
	for i := range c.Numbers {
		n := &c.Numbers[i]
		at := n.Span.Start
		if n.Mark >= 0 && n.Mark < len(f.Marks) {
			at = f.Marks[n.Mark].Span.Start
		}
		line, column := f.Position(at)
		d.Numbers = append(d.Numbers, numberData{n.Name, line, column, n.Piece, n.Phrase, kindName(n), values(n, n.From), values(n, n.To),
			centimetres(n.Wanted), centimetres(n.Measures), n.Tied, n.Assumed, values(&rewrite.Number{}, n.Rows), centimetres(n.OnNeedles)})
	}
	return d.lines()
}

// lines is the data with an entry of a list on each line, so that it can be read and compared.
func (d *changesData) lines() ([]byte, error) {
	var b bytes.Buffer
	var err error
	item := func(v any) {
		e := json.NewEncoder(&b)
		e.SetEscapeHTML(false)
		if x := e.Encode(v); x != nil && err == nil {
			err = x
		}
		b.Truncate(b.Len() - 1) // the line end that Encode adds
	}
	field := func(name string, v any) {
		b.WriteString(",\n  \"" + name + "\": ")
		item(v)
	}
	list := func(name string, n int, at func(int) any) {
		b.WriteString(",\n  \"" + name + "\": [")
		for i := range n {
			if i > 0 {
				b.WriteByte(',')
			}
			b.WriteString("\n    ")
			item(at(i))
		}
		if n > 0 {
			b.WriteString("\n  ")
		}
		b.WriteByte(']')
	}
	b.WriteString("{\n  \"version\": ")
	item(d.Version)
	field("draft", d.Draft)
	field("sizes", d.Sizes)
	list("gauges", len(d.Gauges), func(i int) any { return d.Gauges[i] })
	list("numbers", len(d.Numbers), func(i int) any { return d.Numbers[i] })
	field("proven_optimal", d.Proven)
	list("assumptions", len(d.Assumptions), func(i int) any { return d.Assumptions[i] })
	list("warnings", len(d.Warnings), func(i int) any { return d.Warnings[i] })
	b.WriteString("\n}\n")
	return b.Bytes(), err
}

func gaugeFor(g dsl.Gauge, over *big.Rat) stitchesFor {
	if over == nil || over.Sign() <= 0 {
		over = ten
	}
	return stitchesFor{decimal(new(big.Rat).Mul(g.Stitches, over)), decimal(new(big.Rat).Mul(g.Rows, over)), decimal(over)}
}

func kindName(n *rewrite.Number) string {
	switch n.Unit {
	case grammar.Centimetres:
		return "centimetres"
	case grammar.Millimetres:
		return "millimetres"
	case grammar.Inches:
		return "inches"
	case grammar.Grams:
		return "grams"
	case grammar.Ounces:
		return "ounces"
	case grammar.Metres:
		return "metres"
	case grammar.Yards:
		return "yards"
	case grammar.Balls:
		return "balls"
	case grammar.Ridges:
		return "ridges"
	}
	switch n.Kind {
	case dsl.Stitches:
		return "stitches"
	case dsl.Rows:
		return "rows"
	case dsl.Length:
		return "centimetres"
	case dsl.Times:
		return "times"
	case dsl.Yarn:
		return "yarn"
	}
	return "number"
}

// values are a number's values: whole counts as integers, everything else as decimal strings.
func values(n *rewrite.Number, x []*big.Rat) []any {
	text := n.Kind == dsl.Length || n.Kind == dsl.Yarn || n.Unit.IsLength()
	out := make([]any, len(x))
	for i, v := range x {
		switch {
		case v == nil:
		case !text && v.IsInt():
			out[i] = json.Number(v.Num().String())
		default:
			out[i] = decimal(v)
		}
	}
	return out
}

func centimetres(x []*big.Rat) []*string {
	any := false
	out := make([]*string, len(x))
	for i, v := range x {
		if v != nil {
			s := decimal(v)
			out[i], any = &s, true
		}
	}
	if !any {
		return []*string{}
	}
	return out
}

func marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

type diagnosticsData struct {
	Version     int              `json:"version"`
	File        string           `json:"file"`
	Diagnostics []diagnosticData `json:"diagnostics"`
}

type diagnosticData struct {
	Line      int           `json:"line"`
	Column    int           `json:"column"`
	EndLine   int           `json:"end_line"`
	EndColumn int           `json:"end_column"`
	Severity  string        `json:"severity"`
	Summary   string        `json:"summary"`
	Detail    string        `json:"detail,omitempty"`
	Related   []relatedData `json:"related,omitempty"`
	WayOut    string        `json:"way_out,omitempty"`
}

type relatedData struct {
	Line   int    `json:"line"`
	Column int    `json:"column"`
	Text   string `json:"text"`
}

// DiagnosticsJSON is the same as Diagnostics for other programs. Lines and columns count from 1, columns in characters
// (Unicode code points); the end is the place just after the subject.
func DiagnosticsJSON(f *grammar.File, d grammar.Diagnostics) ([]byte, error) {
	if f == nil {
		f = &grammar.File{}
	}
	out := diagnosticsData{Version: version, File: f.Name, Diagnostics: []diagnosticData{}}
	for _, x := range d {
		l, c := f.Position(x.Span.Start)
		el, ec := f.Position(max(x.Span.Start, x.Span.End))
		y := diagnosticData{l, c, el, ec, x.Severity.String(), x.Summary, x.Detail, nil, x.WayOut}
		for _, r := range x.Related {
			l, c := f.Position(r.Span.Start)
			y.Related = append(y.Related, relatedData{l, c, r.Text})
		}
		out.Diagnostics = append(out.Diagnostics, y)
	}
	return marshal(out)
}
