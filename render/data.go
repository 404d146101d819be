package render

import (
	"bytes"
	"encoding/json"
	"math/big"
	"strconv"
	"strings"
	"unicode/utf8"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// version is that of the data other programs read: it grows when a field changes its name or its meaning.
const version = 1

// ChangesJSON is the conversion as data, version 1: one entry for each number of a marked instruction, in the order of
// the draft. draft is the base name of the draft's file. line and column are those of the instruction's opening brace,
// counted from 1, columns in characters. kind is what the number counts, or the unit it is written in. Counts are
// integers; lengths and amounts are decimal strings in the unit that kind names, exact where they can be, else with six
// decimals. wanted_cm and measures_cm have one entry a size and are empty where the number has no size of its own.
// With a swatch that was measured before and after washing, a length that is worked to has two fields more: rows, as
// many as it takes in all, and on_needles_cm, how long they are before washing; wanted_cm and measures_cm are finished
// lengths. yarn is what the pieces take: rests_on is swatch, draft or estimate, from stands with a figure of the draft's own, and
// about, least and most have one entry a size. With a swatch that was measured hanging, a gauge has the field hang, how long the
// cloth is then for each length of it lying flat; its rows are those of the hanging cloth, lengths are those it hangs to, and
// flat_cm is what they are lying flat. With work on the needles, half_way tells what becomes of it. Cautions come first among
// the warnings.
func ChangesJSON(c *rewrite.Conversion) ([]byte, error) {
	f := c.Draft.File
	j := jsonWriter{b: make([]byte, 0, 1<<10+256*len(c.Numbers))}
	j.raw("{\n  \"version\": ")
	j.whole(version)
	j.raw(",\n  \"draft\": ")
	j.text(baseName(f.Name))
	j.raw(",\n  \"sizes\": [")
	for i, t := range c.Targets {
		j.comma(i)
		j.text(t.Name)
	}
	j.raw("],\n  \"gauges\": [")
	for i, g := range c.Gauges {
		j.item(i)
		j.raw(`{"fabric":`)
		j.text(g.Fabric)
		j.raw(`,"from":`)
		j.gauge(g.From, g.Over)
		j.raw(`,"to":`)
		j.gauge(g.To, g.Over)
		j.raw(`,"assumed":`)
		j.yes(g.Assumed)
		if g.Hang != nil {
			j.raw(`,"hang":`)
			j.decimal(g.Hang)
		}
		j.raw("}")
	}
	j.items(len(c.Gauges))
	j.raw(",\n  \"numbers\": [")
	for i := range c.Numbers {
		n := &c.Numbers[i]
		j.item(i)
		at := n.Span.Start
		if n.Mark >= 0 && n.Mark < len(f.Marks) {
			at = f.Marks[n.Mark].Span.Start
		}
		line, column := f.Position(at)
		j.raw(`{"name":`)
		j.text(n.Name)
		j.raw(`,"line":`)
		j.whole(line)
		j.raw(`,"column":`)
		j.whole(column)
		j.raw(`,"piece":`)
		j.text(n.Piece)
		j.raw(`,"phrase":`)
		j.text(n.Phrase)
		j.raw(`,"kind":`)
		j.text(kindName(n))
		counts := n.Kind != dsl.Length && n.Kind != dsl.Yarn && !n.Unit.IsLength()
		j.raw(`,"from":`)
		j.values(n.From, counts)
		j.raw(`,"to":`)
		j.values(n.To, counts)
		j.raw(`,"wanted_cm":`)
		j.centimetres(n.Wanted)
		j.raw(`,"measures_cm":`)
		j.centimetres(n.Measures)
		j.raw(`,"tied":`)
		j.yes(n.Tied)
		j.raw(`,"assumed":`)
		j.yes(n.Assumed)
		if len(n.Rows) > 0 {
			j.raw(`,"rows":`)
			j.values(n.Rows, true)
		}
		if len(n.OnNeedles) > 0 {
			j.raw(`,"on_needles_cm":`)
			j.centimetres(n.OnNeedles)
		}
		if len(n.Flat) > 0 {
			j.raw(`,"flat_cm":`)
			j.centimetres(n.Flat)
		}
		j.raw("}")
	}
	j.items(len(c.Numbers))
	if c.Yarn != nil {
		j.raw(",\n  \"yarn\": ")
		j.value(yarnOf(c.Yarn))
	}
	j.raw(",\n  \"proven_optimal\": ")
	j.yes(c.Proven)
	j.raw(",\n  \"assumptions\": [")
	for i, s := range c.Assumptions {
		j.item(i)
		j.text(s)
	}
	j.items(len(c.Assumptions))
	j.raw(",\n  \"warnings\": [")
	for i, s := range c.Cautions {
		j.item(i)
		j.text(s)
	}
	for i, s := range c.Warnings {
		j.item(len(c.Cautions) + i)
		j.text(s)
	}
	j.items(len(c.Cautions) + len(c.Warnings))
	if len(c.Seconds) > 0 {
		j.seconds(c)
	}
	if c.HalfWay != nil {
		j.halfWay(c)
	}
	j.raw("\n}\n")
	return j.b, j.err
}

// jsonWriter writes data with an entry of a list on each line, so that it can be read and compared.
type jsonWriter struct {
	b   []byte
	err error
}

// raw writes JSON as it stands.
func (j *jsonWriter) raw(s string) { j.b = append(j.b, s...) }

// value writes any value as encoding/json has it, on one line.
func (j *jsonWriter) value(x any) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(x); err != nil {
		j.err = err
		return
	}
	j.b = append(j.b, bytes.TrimSuffix(b.Bytes(), []byte("\n"))...)
}

// text writes words as a string. What a string has to escape is left to encoding/json.
func (j *jsonWriter) text(s string) {
	if !plainJSON(s) {
		j.value(s)
		return
	}
	j.b = append(j.b, '"')
	j.b = append(j.b, s...)
	j.b = append(j.b, '"')
}

// plainJSON says whether s stands in a string of JSON as it is (RFC 8259, section 7). The separators of lines and
// paragraphs may, but not in every program that reads it.
func plainJSON(s string) bool {
	ascii := true
	for i := 0; i < len(s); i++ {
		if s[i] < ' ' || s[i] == '"' || s[i] == '\\' {
			return false
		}
		ascii = ascii && s[i] < utf8.RuneSelf
	}
	return ascii || utf8.ValidString(s) && !strings.ContainsAny(s, "\u2028\u2029")
}

func (j *jsonWriter) whole(n int)  { j.b = strconv.AppendInt(j.b, int64(n), 10) }
func (j *jsonWriter) yes(yes bool) { j.b = strconv.AppendBool(j.b, yes) }

// decimal writes x as a decimal string.
func (j *jsonWriter) decimal(x *big.Rat) {
	j.b = append(j.b, '"')
	j.b = appendDecimals(j.b, x, 6)
	j.b = append(j.b, '"')
}

// comma goes before entry i of a list on one line, item before that of a list with a line for each, items after its last.
func (j *jsonWriter) comma(i int) {
	if i > 0 {
		j.b = append(j.b, ',')
	}
}

func (j *jsonWriter) item(i int) {
	j.comma(i)
	j.raw("\n    ")
}

func (j *jsonWriter) items(n int) {
	if n > 0 {
		j.raw("\n  ")
	}
	j.raw("]")
}

func (j *jsonWriter) gauge(g dsl.Gauge, over *big.Rat) {
	if over == nil || over.Sign() <= 0 {
		over = ten
	}
	j.raw(`{"stitches":`)
	j.decimal(new(big.Rat).Mul(g.Stitches, over))
	j.raw(`,"rows":`)
	j.decimal(new(big.Rat).Mul(g.Rows, over))
	j.raw(`,"over_cm":`)
	j.decimal(over)
	j.raw("}")
}

// values writes a number's values: whole ones as integers where they are counts, everything else as decimal strings.
func (j *jsonWriter) values(x []*big.Rat, counts bool) {
	j.raw("[")
	for i, v := range x {
		j.comma(i)
		switch {
		case v == nil:
			j.raw("null")
		case counts && v.IsInt():
			j.b = appendDecimals(j.b, v, 0)
		default:
			j.decimal(v)
		}
	}
	j.raw("]")
}

// centimetres writes sizes; none at all where a number has none.
func (j *jsonWriter) centimetres(x []*big.Rat) {
	for _, v := range x {
		if v != nil {
			j.values(x, false)
			return
		}
	}
	j.raw("[]")
}

func kindName(n *rewrite.Number) string { return kindOf(n.Kind, n.Unit) }

func kindOf(k dsl.Kind, u grammar.Unit) string {
	switch u {
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
	switch k {
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
