package grammar

import (
	"math/big"
	"strings"
	"testing"
)

func TestParseGauge(t *testing.T) {
	for _, c := range []struct {
		text, name       string
		sts, rows, width string // rows empty where left out
		unit             Unit
		rounds           bool
	}{
		{"18 sts and 25 rows to 10 cm", "", "18", "25", "10", Centimetres, false},
		{"rib: 22 sts and 30 rows to 10 cm", "rib", "22", "30", "10", Centimetres, false},
		{"fabric Fair  Isle: 22 sts, 30 rounds to 4 in", "fair isle", "22", "30", "4", Inches, true},
		{"11 sts over 2 in", "", "11", "", "2", Inches, false},
		{"11 sts = 2\"", "", "11", "", "2", Inches, false},
		{"5 1/2 sts per 1 in", "", "11/2", "", "1", Inches, false},
		{"5.5 stitches to 1 inch", "", "11/2", "", "1", Inches, false},
		{"18½ sts & 25 rows in 10cm", "", "37/2", "25", "10", Centimetres, false},
		{"18 sts x 25 rows to 10 cm", "", "18", "25", "10", Centimetres, false},
		{"18 sts by 25 rows over 100 mm", "", "18", "25", "100", Millimetres, false},
		{"18 sts / 25 rows / 10 cm", "", "18", "25", "10", Centimetres, false},
		{"18 sts, 25 rows over 4 ins.", "", "18", "25", "4", Inches, false},
		{"18 sts and 25 rows to 10 cm square", "", "18", "25", "10", Centimetres, false},
	} {
		name, g, err := ParseGauge(c.text)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		rows := ""
		if g.Rows != nil {
			rows = g.Rows.Nums[0].Val.RatString()
		}
		if name != c.name || g.Stitches.Nums[0].Val.RatString() != c.sts || rows != c.rows || g.Over.Nums[0].Val.RatString() != c.width || g.Over.Unit != c.unit || g.Rounds != c.rounds {
			t.Errorf("%q: %q %v sts, %q rows over %v %v, rounds %v", c.text, name, g.Stitches.Nums[0].Val, rows, g.Over.Nums[0].Val, unitNames[g.Over.Unit], g.Rounds)
		}
		f := &File{Src: []byte(c.text)}
		if got := f.Text(g.Over.NumSpan); !sameNumber(got, g.Over.Nums[0].Val) {
			t.Errorf("%q: the width's span holds %q", c.text, got)
		}
	}
	for _, text := range []string{"", "rib:", "18 sts", "18 sts to 10", "18 rows to 10 cm", "18 sts and 25 sts to 10 cm", "0 sts to 10 cm", "-3 sts to 10 cm", "18 (20) sts to 10 cm",
		"eighteen", "18/25 to 10 cm", "18 sts and 25 rows to 0 cm", "18 sts and 25 rows to 10 kg", "18 sts ! 10 cm", strings.Repeat("(", 5000), strings.Repeat("9", 400) + " sts to 10 cm"} {
		name, g, err := ParseGauge(text)
		d, ok := err.(Diagnostics)
		if err == nil || !ok || !d.Has(Error) || g != nil || name != "" {
			t.Errorf("%q is read as a gauge: %v", text, err)
			continue
		}
		for _, x := range d {
			if x.Span.Start < 0 || x.Span.End > len(text) || x.Span.Start > x.Span.End {
				t.Errorf("%q: the place %v is not in the option", text, x.Span)
			}
		}
	}
}

func TestParseGaugeRange(t *testing.T) {
	for _, c := range []struct {
		text, name string
		from, to   string // stitches, and rows after a slash
		over       string
		single     bool
	}{
		{"18 to 24 sts and 25 to 32 rows to 10 cm", "", "18/25", "24/32", "10", false},
		{"rib: 18–24 sts, 25 - 32 rounds over 4 in", "rib", "18/25", "24/32", "4", false},
		{"4½ to 6 sts to 1 in", "", "9/2", "6", "1", false},
		{"4.5—6 sts to the inch", "", "9/2", "6", "1", false},
		{"18 to 24 / 25 to 32 / 10 cm", "", "18/25", "24/32", "10", false},
		{"18 to 24 to 10 cm", "", "18", "24", "10", false},
		{"18 to 24 sts and 28 rows to 10 cm", "", "18/28", "24/28", "10", false},
		{"18 sts and 25 to 28 rows to 10 cm", "", "18/25", "18/28", "10", false},
		{"18 to 18 sts to 10 cm", "", "18", "18", "10", false},
		{"18 sts and 25 rows to 10 cm", "", "18/25", "18/25", "10", true},
		{"18 to 10 cm", "", "18", "18", "10", true},
		{`18 to 4"`, "", "18", "18", "4", true},
	} {
		name, r, err := ParseGaugeRange(c.text)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		end := func(g *GaugeText) string {
			s := g.Stitches.Nums[0].Val.RatString()
			if g.Rows != nil {
				s += "/" + g.Rows.Nums[0].Val.RatString()
			}
			return s
		}
		if name != c.name || end(r.From) != c.from || end(r.To) != c.to || r.To.Over.Nums[0].Val.RatString() != c.over || r.Single() != c.single {
			t.Errorf("%q: %q, %s to %s over %v, single %v", c.text, name, end(r.From), end(r.To), r.To.Over.Nums[0].Val, r.Single())
		}
	}
	for text, says := range map[string]string{
		"24 to 18 sts and 32 to 25 rows to 10 cm": "this range runs backwards; put the smaller number first: 18 to 24",
		"18 to 24 sts and 32 to 25 rows to 10 cm": "this range runs backwards; put the smaller number first: 25 to 32",
		"6 to 4½ sts to 1 in":                     "this range runs backwards; put the smaller number first: 4½ to 6",
	} {
		if _, r, err := ParseGaugeRange(text); r != nil || err == nil || err.Error() != says {
			t.Errorf("%q: %v", text, err)
		}
	}
	for _, text := range []string{"", "rib:", "18 to 24", "18 to sts to 10 cm", "18 to 24 to 30 sts to 10 cm", "18 to 24 rows to 10 cm", "18 - 4 in", "0 to 4 sts to 10 cm", "18 to 24 sts to 10 to 12 cm", "18 to 24 sts to 10 kg"} {
		if _, r, err := ParseGaugeRange(text); r != nil || err == nil {
			t.Errorf("%q is read as a gauge", text)
		}
	}
}

func sameNumber(text string, v *big.Rat) bool {
	got, ok := NumberValue(text)
	return ok && got.Cmp(v) == 0
}

func TestParseMeasure(t *testing.T) {
	m, d := ParseMeasure("Upper  arm = 30.5 cm")
	if d.Err() != nil || m.Name.Key != "upper arm" || m.Name.Text != "Upper arm" {
		t.Fatalf("%v %v", m, d)
	}
	if lit, ok := m.Expr.(*Lit); !ok || lit.Value.Nums[0].Val.Cmp(big.NewRat(61, 2)) != 0 || lit.Value.Unit != Centimetres {
		t.Errorf("%v", m.Expr)
	}
	if m, d := ParseMeasure("ease = (chest - 10%) / 2"); m == nil || d != nil {
		t.Errorf("%v", d)
	}
	for _, text := range []string{"", "chest", "chest 93 cm", "= 93 cm", "chest =", "93 = 4 cm", "chest = 93 cm 4", "chest = = 4", "chest = (4"} {
		if m, d := ParseMeasure(text); m != nil || d.Err() == nil {
			t.Errorf("%q is read as a measure", text)
		}
	}
}

func TestParsePin(t *testing.T) {
	name, v, d := ParsePin("Back = 98 (106, 114) sts")
	if d != nil || name != "back" || len(v.Nums) != 3 || v.Unit != Stitches || v.Nums[2].Val.Cmp(big.NewRat(114, 1)) != 0 {
		t.Errorf("%q %v %v", name, v, d)
	}
	if name, v, d := ParsePin("decrease row = 4 rows"); d != nil || name != "decrease row" || v.Unit != Rows {
		t.Errorf("%q %v %v", name, v, d)
	}
	for _, text := range []string{"", "back", "back 98", "= 98", "back =", "back = 98.5", "back = -3", "back = 38 cm", "back = 98 = 4", "back = x"} {
		if name, v, d := ParsePin(text); v != nil || name != "" || d.Err() == nil {
			t.Errorf("%q is read as a pin", text)
		}
	}
}

func TestNumberValue(t *testing.T) {
	for text, want := range map[string]string{"98": "98", "15.5": "31/2", "15½": "31/2", "15 ½": "31/2", "15 1/2": "31/2", "15 1⁄2": "31/2", "½": "1/2", "1/2": "1/2",
		"4th": "4", "2nd": "2", "one": "1", "twenty-one": "21", "twenty one": "21", "once": "1", "twice": "2", "one hundred and four": "104", "third": "3", "-3": "-3", "−3": "-3", ".5": "1/2", "15-1/2": "31/2"} {
		got, ok := NumberValue(text)
		if !ok || got.RatString() != want {
			t.Errorf("%q is %v, want %s", text, got, want)
		}
	}
	for _, text := range []string{"", "x", "4 5", "k2", "4 sts", "1/0", "four cats", "4thx"} {
		if got, ok := NumberValue(text); ok {
			t.Errorf("%q is read as %v", text, got)
		}
	}
}
