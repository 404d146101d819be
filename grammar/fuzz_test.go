package grammar

import (
	"bytes"
	"math/big"
	"reflect"
	"testing"
)

// FuzzParse: whatever the bytes, parsing changes none of them, twice is once, and every span holds what it says.
func FuzzParse(f *testing.F) {
	for _, src := range readDrafts(f) {
		f.Add(src)
	}
	for _, table := range []string{"testdata/phrases.txt", "testdata/natural.txt"} {
		for i, line := range tableLines(f, table) {
			if i%4 == 0 {
				f.Add([]byte("```draft\nfabric rib: 20 sts and 28 rows to 10 cm\nsizes: S (M, L)\nchest = 90 cm\n```\n\n> {" + line + "}\n"))
			}
		}
	}
	for _, line := range tableLines(f, "testdata/mistakes.txt") {
		f.Add([]byte("- {" + line + "\n  }"))
	}
	f.Add([]byte("\ufeff~~~draft\r\nchest = 4 cm\r\n~~~\r\n| a |\r\n|---|\r\n| {4 sts \\| chest} |\r\n"))
	f.Add([]byte("---\na: b\n---\n{{x}} {%y%} \\{ {} `{`\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		if len(src) > 1<<14 {
			t.Skip("long")
		}
		before := bytes.Clone(src)
		a, da := Parse("fuzz", src)
		if !bytes.Equal(src, before) {
			t.Fatal("the source was changed")
		}
		if a == nil {
			t.Fatal("no file")
		}
		b, db := Parse("fuzz", src)
		if !reflect.DeepEqual(a, b) || !reflect.DeepEqual(da, db) {
			t.Fatal("parsing twice gives two results")
		}
		last := -1
		for _, d := range da {
			if d.Span.Start < last || d.Span.Start < 0 || d.Span.End > len(src) || d.Span.End < d.Span.Start {
				t.Fatalf("diagnostic %q stands at %v in %d bytes, after %d", d.Summary, d.Span, len(src), last)
			}
			last = d.Span.Start
			for _, r := range d.Related {
				if r.Span.Start < 0 || r.Span.End > len(src) || r.Span.End < r.Span.Start {
					t.Fatalf("related %q stands at %v", r.Text, r.Span)
				}
			}
		}
		if !da.Has(Error) {
			for _, m := range a.Marks {
				if m.Phrase == nil {
					t.Fatalf("%q has no phrase and no error", a.Text(m.Span))
				}
			}
		}
		proveSpans(t, a)
		// What is outside marks and blocks does not matter to what is in them: with each mark's own bytes cut out, the
		// file falls into pieces that together are the source.
		var pieces []byte
		at := 0
		for _, m := range a.Marks {
			pieces = append(pieces, src[at:m.Span.Start]...)
			pieces = append(pieces, src[m.Span.Start:m.Span.End]...)
			at = m.Span.End
		}
		if pieces = append(pieces, src[at:]...); !bytes.Equal(pieces, src) {
			t.Fatal("the marks do not fit the source")
		}
		// A place and its offset say the same.
		for _, m := range a.Marks {
			line, col := a.Position(m.Span.Start)
			if off, ok := a.Offset(line, col); !ok || off != m.Span.Start {
				t.Fatalf("%d:%d is offset %d, not %d", line, col, off, m.Span.Start)
			}
		}
	})
}

// FuzzParseGauge: a gauge that is read is above zero, and its numbers' spans hold them.
func FuzzParseGauge(f *testing.F) {
	for _, s := range []string{"18 sts and 25 rows to 10 cm", "rib: 22 sts and 30 rows to 10 cm", "11 sts over 2 in", "5 1/2 sts = 1\"", "18/25/10cm", "a: b: 4", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		_, g, err := ParseGauge(text)
		if (err == nil) == (g == nil) {
			t.Fatalf("%q: %v, %v", text, g, err)
		}
		if g == nil {
			return
		}
		file := &File{Src: []byte(text)}
		for _, v := range []*Value{g.Stitches, g.Rows, g.Over} {
			if v == nil {
				continue
			}
			if len(v.Nums) != 1 || v.Nums[0].Val.Sign() <= 0 || !sameNumber(file.Text(v.Nums[0].Span), v.Nums[0].Val) {
				t.Fatalf("%q: %v", text, v)
			}
		}
	})
}

// FuzzParseGaugeRange: each end of a range is the gauge that stands there when the other end is taken out of the text; the ends are
// in order, and a text without a range is read as ParseGauge reads it.
func FuzzParseGaugeRange(f *testing.F) {
	for _, s := range []string{"18 to 24 sts and 25 to 32 rows to 10 cm", "rib: 4½–6 sts over 1 in", "18 to 10 cm", "18 sts, 25-32 rounds = 4 in", "24 to 18 sts to 10 cm", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		name, r, err := ParseGaugeRange(text)
		if (err == nil) == (r == nil) {
			t.Fatalf("%q: %v, %v", text, r, err)
		}
		if r == nil {
			return
		}
		// Blank out, of each pair of numbers that differ in place, the one from the other end with what joins them.
		without := func(keep, drop *GaugeText) string {
			b := []byte(text)
			for _, p := range [][2]*Value{{keep.Stitches, drop.Stitches}, {keep.Rows, drop.Rows}} {
				if p[0] == nil || p[0].Nums[0].Span == p[1].Nums[0].Span {
					continue
				}
				k, d := p[0].Nums[0].Span, p[1].Nums[0].Span
				cut := Span{k.End, d.End}
				if d.Start < k.Start {
					cut = Span{d.Start, k.Start}
				}
				for i := cut.Start; i < cut.End; i++ {
					b[i] = ' '
				}
			}
			return string(b)
		}
		for _, end := range [][2]*GaugeText{{r.From, r.To}, {r.To, r.From}} {
			alone, g, err := ParseGauge(without(end[0], end[1]))
			if err != nil || alone != name || !reflect.DeepEqual(numbersOfGauge(g), numbersOfGauge(end[0])) {
				t.Fatalf("%q: %v, alone %v: %v", text, numbersOfGauge(end[0]), g, err)
			}
		}
		for i, x := range numbersOfGauge(r.From) {
			if x.Cmp(numbersOfGauge(r.To)[i]) > 0 {
				t.Fatalf("%q runs backwards", text)
			}
		}
		if r.Single() && r.From.Stitches.Nums[0].Span != r.To.Stitches.Nums[0].Span {
			t.Fatalf("%q is one gauge and two", text)
		}
	})
}

func numbersOfGauge(g *GaugeText) (out []*big.Rat) {
	for _, v := range []*Value{g.Stitches, g.Over, g.Rows} {
		if v != nil {
			out = append(out, v.Nums[0].Val)
		}
	}
	return out
}

// FuzzParseMeasure: a measure that is read has a name and an expression whose literals stand where they say.
func FuzzParseMeasure(f *testing.F) {
	for _, s := range []string{"chest = 93 cm", "ease = -10%", "a b = (c + 4 cm) / 2", "x = smaller of a, b and 3 (4, 5) cm", "y = 24 rows in lace", "=", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		m, d := ParseMeasure(text)
		if (m == nil) != d.Has(Error) {
			t.Fatalf("%q: %v, %v", text, m, d)
		}
		if m == nil {
			return
		}
		if m.Name.Key == "" || m.Expr == nil {
			t.Fatalf("%q: %v", text, m)
		}
		file := &File{Src: []byte(text)}
		proveNode(t, file, reflect.ValueOf(m), Span{0, len(text)}, 0)
	})
}
