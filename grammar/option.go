package grammar

import (
	"fmt"
	"strings"
)

// An option is read like the block statement it stands for; spans in what is returned are byte offsets in the option's
// own text.

// maxOption is the longest option text that is read.
const maxOption = 4 << 10

// Err is nil where the list holds nothing of severity Error, else the list as an error.
func (d Diagnostics) Err() error {
	if !d.Has(Error) {
		return nil
	}
	return d
}

// Error is the first error's summary with its way out, so that a list can stand where an error is asked for.
func (d Diagnostics) Error() string {
	for _, x := range d {
		if x.Severity == Error {
			if x.WayOut != "" {
				return x.Summary + "; " + x.WayOut
			}
			return x.Summary
		}
	}
	if len(d) > 0 {
		return d[0].Summary
	}
	return "no diagnostics"
}

func optionRaws(text string) ([]raw, *Diagnostic) {
	if len(text) > maxOption {
		return nil, &Diagnostic{Severity: Error, Summary: "the option is too long", Detail: fmt.Sprintf("At most %d bytes are read.", maxOption)}
	}
	f := &File{Src: []byte(text)}
	if d := unreadable(f); d != nil && len(text) > 0 {
		return nil, d
	}
	rs := scanText(text, true)
	if len(rs) == 0 {
		return nil, &Diagnostic{Severity: Error, Span: Span{0, len(text)}, Summary: "the option is empty"}
	}
	if d := tooLongNumber(rs); d != nil {
		return nil, d
	}
	if deep, at := bracketDepth(rs); deep > MaxNesting {
		return nil, &Diagnostic{Severity: Error, Span: at, Summary: "brackets are nested too deep", Detail: "At most " + itoa(MaxNesting) + " are read."}
	}
	return rs, nil
}

// ParseGauge reads a gauge option: `18 sts and 25 rows to 10 cm`, or for a named fabric `rib: 22 sts and 30 rows to
// 10 cm`. Rows may be left out (Rows is then nil). The width may be any length in cm, mm or inches, after `to`, `over`,
// `in`, `per` or `=`: `11 sts over 2 in`. name is empty where no fabric is named. A non-nil error is a Diagnostics whose
// spans are offsets in text.
func ParseGauge(text string) (name string, g *GaugeText, err error) {
	text, name, rs, d := gaugeOption(text)
	if d == nil {
		g, d = parseGauge(text, rs, newNames(), Span{0, len(text)}, false)
	}
	if d != nil {
		return "", nil, Diagnostics{*d}
	}
	return name, g, nil
}

// GaugeRange is every gauge between two: `18 to 24 sts and 25 to 32 rows to 10 cm`. One gauge is a range, too, with the same
// numbers at both ends.
type GaugeRange struct {
	From, To *GaugeText // the looser and the tighter end; rows are given at both or at neither
}

// Single says whether both ends are the one gauge that was written.
func (r *GaugeRange) Single() bool { return r.From == r.To }

// ParseGaugeRange reads what ParseGauge reads, and instead of its stitches, its rows or both a range of them, the smaller
// number first: `18 to 24 sts and 25 to 32 rows to 10 cm`, `4½–6 sts to 1 in`. Rows that are one number are the same at both
// ends. A non-nil error is a Diagnostics whose spans are offsets in text.
func ParseGaugeRange(text string) (name string, r *GaugeRange, err error) {
	text, name, rs, d := gaugeOption(text)
	if d != nil {
		return "", nil, Diagnostics{*d}
	}
	from, to, backwards := rangeEnds(rs)
	if backwards >= 0 {
		a, b := rs[backwards], rs[backwards+2]
		return "", nil, Diagnostics{{Severity: Error, Span: Span{a.span.Start, b.span.End}, Summary: "this range runs backwards",
			WayOut: "put the smaller number first: " + text[b.span.Start:b.span.End] + " to " + text[a.span.Start:a.span.End]}}
	}
	r = &GaugeRange{}
	if r.From, d = parseGauge(text, from, newNames(), Span{0, len(text)}, false); d == nil {
		r.To = r.From
		if len(to) < len(rs) { // something was left out
			r.To, d = parseGauge(text, to, newNames(), Span{0, len(text)}, false)
		}
	}
	if d != nil {
		return "", nil, Diagnostics{*d}
	}
	return name, r, nil
}

// gaugeOption is the text of a gauge option as it is read, the fabric named before its colon, and the tokens after it.
func gaugeOption(text string) (as, name string, rs []raw, d *Diagnostic) {
	// Ball bands say `to the inch`; an inch is one inch. What is put in is as long as what it replaces, so that places stay.
	text = toTheInch.Replace(text)
	if rs, d = optionRaws(text); d != nil {
		return text, "", nil, d
	}
	if sign, at := head(rs); sign == ":" && rs[0].kind == rawWord && at > 0 {
		from := 0
		if rs[0].key == "fabric" && at > 1 {
			from = 1
		}
		name = wordOf(text, rs, from, at).Key
		rs = rs[at+1:]
	}
	return text, name, rs, nil
}

// rangeEnds are the tokens of a gauge option with only the first, and only the last, number of each range. backwards is where
// a range stands whose last number is the smaller, -1 where there is none.
func rangeEnds(rs []raw) (from, to []raw, backwards int) {
	for i := 0; i < len(rs); i++ {
		if !beginsRange(rs[i:]) {
			from, to = append(from, rs[i]), append(to, rs[i])
			continue
		}
		if rs[i].val.Cmp(rs[i+2].val) > 0 {
			return nil, nil, i
		}
		from, to = append(from, rs[i]), append(to, rs[i+2])
		i += 2
	}
	return from, to, -1
}

// beginsRange says whether the tokens begin with two numbers that have `to` or a dash between them, of anything but a length:
// `18 to 10 cm` is one gauge.
func beginsRange(rs []raw) bool {
	if len(rs) < 4 || rs[0].kind != rawNum || rs[2].kind != rawNum {
		return false
	}
	between := rs[1].key == "to" || rs[1].key == "-" || rs[1].key == "—"
	return between && !unitWords[rs[3].key].IsLength() && rs[3].key != `"`
}

var toTheInch = strings.NewReplacer("the inch", "1   inch", "The inch", "1   inch", "an inch", "1  inch", "per inch", "to 1 in ")

// ParseMeasure reads a measure option: `chest = 93 cm`. The expression may use other names. Spans are offsets in text;
// the MeasureDef is nil where there is an Error.
func ParseMeasure(text string) (*MeasureDef, Diagnostics) {
	rs, d := optionRaws(text)
	if d != nil {
		return nil, Diagnostics{*d}
	}
	sign, at := head(rs)
	if sign != "=" {
		return nil, Diagnostics{{Severity: Error, Span: Span{0, len(text)}, Summary: "a measure is given with an equals sign", WayOut: "write `chest = 93 cm`"}}
	}
	m, d := parseMeasure(text, rs, at, newNames(), spanOfRaws(nil, rs))
	if d != nil {
		return nil, Diagnostics{*d}
	}
	return m, nil
}

// ParsePin reads a pin option: `back = 98`, with a unit or without, one value or one a size. name is in lower case. Spans
// are offsets in text; the Value is nil where there is an Error.
func ParsePin(text string) (name string, value *Value, diags Diagnostics) {
	const form = "write `back = 98`"
	rs, d := optionRaws(text)
	if d != nil {
		return "", nil, Diagnostics{*d}
	}
	sign, at := head(rs)
	whole := Span{0, len(text)}
	if sign != "=" || at < 1 || at+1 == len(rs) {
		return "", nil, Diagnostics{{Severity: Error, Span: whole, Summary: "a pin gives a name its number", WayOut: form}}
	}
	name = wordOf(text, rs, 0, at).Key
	t := exprTokens(text, rs[at+1:], newNames())
	lit, errAt, ok := literalForm.parse(t.tokens)
	if !ok || t.strange >= 0 {
		x := exprProblem(text, t, errAt, spanOfRaws(nil, rs[at+1:]), "the number")
		x.WayOut = form
		return "", nil, Diagnostics{x}
	}
	l := &lowerer{src: text, t: t.tokens, diags: &diags, mark: &Mark{}}
	value = l.literal(lit)
	for _, n := range value.Nums {
		if !n.Val.IsInt() || n.Val.Sign() < 0 {
			return "", nil, Diagnostics{{Severity: Error, Span: n.Span, Summary: "a pinned count is a whole number", WayOut: form}}
		}
	}
	if value.Unit != NoUnit && value.Unit != Stitches && !value.Unit.IsRows() {
		return "", nil, Diagnostics{{Severity: Error, Span: value.UnitSpan, Summary: "stitches and rows can be pinned, lengths cannot", WayOut: form}}
	}
	return name, value, nil
}
