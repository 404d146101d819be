package render

import (
	"bytes"
	"math/big"
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// converted is a draft at another gauge, by the whole way.
func converted(t testing.TB, name string, src []byte, gauge *dsl.Gauge, sizes ...string) *rewrite.Conversion {
	t.Helper()
	f, diags := grammar.Parse(name, src)
	if diags.Has(grammar.Error) {
		t.Fatalf("%s cannot be read:\n%s", name, Diagnostics(f, diags, false))
	}
	d, diags := dsl.Read(f)
	if diags.Has(grammar.Error) {
		t.Fatalf("%s has no meaning:\n%s", name, Diagnostics(f, diags, false))
	}
	r := rewrite.Request{Sizes: sizes}
	if gauge != nil {
		r.Gauges = []rewrite.AskedGauge{{Gauge: *gauge}}
	}
	c, diags := rewrite.Convert(d, r)
	if c == nil {
		t.Fatalf("%s cannot be converted:\n%s", name, Diagnostics(f, diags, false))
	}
	return c
}

// looser is a gauge a tenth looser than a draft's first.
func looser(t testing.TB, name string, src []byte) *dsl.Gauge {
	t.Helper()
	f, _ := grammar.Parse(name, src)
	for _, b := range f.Blocks {
		if b.Kind == grammar.DraftBlock && len(b.Fabrics) > 0 {
			g, err := dsl.ReadGauge(b.Fabrics[0].Gauge)
			if err != nil {
				t.Fatal(err)
			}
			tenth := big.NewRat(9, 10)
			return &dsl.Gauge{Stitches: g.Stitches.Mul(g.Stitches, tenth), Rows: g.Rows.Mul(g.Rows, tenth)}
		}
	}
	t.Fatalf("%s has no gauge", name)
	return nil
}

func TestReadingCopyKeepsProse(t *testing.T) {
	for name, src := range drafts(t) {
		for _, eol := range []string{"\n", "\r\n"} {
			src := bytes.ReplaceAll(src, []byte("\n"), []byte(eol))
			c := grown(t, name, src)
			got := ReadingCopy(c, Options{})
			// Everything between the braces stands in the copy, in its order, byte for byte.
			at := 0
			rest := got
			for _, m := range append(c.Draft.File.Marks, &grammar.Mark{Span: grammar.Span{Start: len(src), End: len(src)}}) {
				prose := src[at:m.Span.Start]
				at = m.Span.End
				if b := c.Draft.Block.Span; bytes.Contains(prose, src[b.Start:b.End]) {
					i := bytes.Index(prose, src[b.Start:b.End])
					k := bytes.Index(rest, prose[:i])
					if k < 0 {
						t.Fatalf("%s: the text before the draft block changed", name)
					}
					rest = rest[k+i:]
					prose = prose[i+b.End-b.Start:]
				}
				i := bytes.Index(rest, prose)
				if i < 0 {
					t.Fatalf("%s: %q is not in the rest of the copy:\n%s", name, prose, rest)
				}
				rest = rest[i+len(prose):]
			}
			if len(rest) > 0 {
				t.Errorf("%s: %q follows the text, though there is nothing to note", name, rest)
			}
			if eol == "\r\n" && bytes.Count(got, []byte("\n")) != bytes.Count(got, []byte("\r\n")) {
				t.Errorf("%s: some lines end differently", name)
			}
		}
	}
}

func TestReadingCopyHasNoBraces(t *testing.T) {
	for name, src := range drafts(t) {
		got := ReadingCopy(converted(t, name, src, looser(t, name, src)), Options{})
		if bytes.ContainsAny(got, "{}") && !bytes.ContainsAny(proseOf(t, name, src), "{}") {
			t.Errorf("%s has braces:\n%s", name, got)
		}
		mustLack(t, got, "```draft", "~~~draft", "spelled out")
	}
}

func proseOf(t testing.TB, name string, src []byte) []byte {
	f, _ := grammar.Parse(name, src)
	out := bytes.Clone(src)
	for _, m := range f.Marks {
		for i := m.Span.Start; i < m.Span.End; i++ {
			out[i] = ' '
		}
	}
	return out
}

func TestReadingCopyInUnits(t *testing.T) {
	src := []byte("```draft\nfabric main: 20 sts and 28 rows to 10 cm\nsizes: S (M)\nchest = 90 (95) cm\nlong = 38 cm\n```\n\n" +
		"{cast on 90 (96) sts} and {work to 38 cm | long}, {work to 50 (51) cm}, to fit {90 (95) cm | chest}. {Bind off all sts}.\n")
	c := converted(t, "x.md", src, nil)
	for units, want := range map[string][]string{
		"":     {"work to 38 cm, work to 50 (51) cm, to fit 90 (95) cm.", "| long | 38 cm | 38 cm |"},
		"cm":   {"work to 38 cm, work to 50 (51) cm, to fit 90 (95) cm."},
		"in":   {"work to 15 in, work to 19¾ (20) in, to fit 35½ (37½) in.", "| long | 15 in | 15 in |"},
		"both": {"work to 38 cm [15 in], work to 50 (51) cm [19¾ (20) in], to fit 90 (95) cm [35½ (37½) in].", "| long | 38 cm [15 in] | 38 cm [15 in] |"},
	} {
		mustContain(t, ReadingCopy(c, Options{Units: units}), want...)
	}
}

func TestReadingCopyIsMarkdown(t *testing.T) {
	for _, k := range []struct{ text, want string }{
		{"\\{not one\\} {cast on 9 sts}.\n", "\\{not one\\} cast on 10 sts.\n"},
		{"Then\n{— 9 sts}.\n", "Then\n— 10 sts.\n"},
		{"> {cast on 9 sts\n> | multiple of 2}. So.\n", "> cast on 10 sts. So.\n"},
		{"- {cast on 9\n  sts}\n", "- cast on 10\n  sts\n"},
		{"| a | b |\n| --- | --- |\n| {9 sts \\| multiple of 2} | x |\n", "| 10 sts | x |"},
		{"{cast on 9 sts.} Then", "cast on 10 sts. Then"},
	} {
		c := grown(t, "x.md", small(k.text))
		mustContain(t, ReadingCopy(c, Options{}), k.want)
	}
}

func TestReadingCopyEndsWithNotes(t *testing.T) {
	c := grown(t, "x.md", small("No line end"))
	c.Cautions, c.Assumptions, c.Warnings = []string{"Cords *strangle*."}, []string{"Rib as main."}, []string{"Look at `a*b`."}
	got := string(ReadingCopy(c, Options{}))
	want := "No line end\n\n## Before you cast on\n\n- **Take care.** Cords \\*strangle\\*.\n- *Assumed.* Rib as main.\n- Look at `a*b`.\n"
	if !strings.HasSuffix(got, want) {
		t.Errorf("ends with\n%q", got)
	}
}

func TestNoBlockOpens(t *testing.T) {
	for s, want := range map[string]bool{"- 90 sts": true, "90. sts": true, "90 sts": false, "> x": true, "# x": true, "#x": false, "−3": false, "": false, "+": true} {
		if got := opensBlock([]byte(s)); got != want {
			t.Errorf("%q: %v", s, got)
		}
	}
}

func TestTape(t *testing.T) {
	for _, k := range []struct {
		cm   *big.Rat
		unit grammar.Unit
		want string
	}{
		{big.NewRat(38, 1), grammar.Inches, "15"},
		{big.NewRat(38, 1), grammar.Centimetres, "38"},
		{big.NewRat(3825, 100), grammar.Centimetres, "38.5"},
		{big.NewRat(3824, 100), grammar.Centimetres, "38"},
		{big.NewRat(127, 100), grammar.Inches, "½"},
		{big.NewRat(0, 1), grammar.Inches, "0"},
		{big.NewRat(-5, 1), grammar.Centimetres, "-5"},
		{big.NewRat(-5, 1), grammar.Inches, "−2"},
		{big.NewRat(-127, 100), grammar.Inches, "−½"},
		{big.NewRat(254*31, 800), grammar.Inches, "4"}, // 3⅞: halves upwards
		{big.NewRat(38, 1), grammar.Millimetres, "380"},
	} {
		if got := tape(k.cm, k.unit); got != k.want {
			t.Errorf("%s cm: %q, not %q", k.cm, got, k.want)
		}
	}
}

func TestDecimal(t *testing.T) {
	for _, k := range []struct {
		x    *big.Rat
		want string
	}{
		{big.NewRat(49, 1), "49"}, {big.NewRat(1, 3), "0.333333"}, {big.NewRat(1, 8), "0.125"}, {big.NewRat(-1, 10_000_000), "0"},
		{big.NewRat(1016, 100), "10.16"}, {big.NewRat(2, 3), "0.666667"}, {big.NewRat(100, 1), "100"},
	} {
		if got := decimal(k.x); got != k.want {
			t.Errorf("%s: %q, not %q", k.x, got, k.want)
		}
	}
}
