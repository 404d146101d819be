package dsl_test

import (
	"fmt"
	"math"
	"math/big"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

func readCard(t testing.TB, body string) (*dsl.Card, grammar.Diagnostics) {
	t.Helper()
	f, diags := grammar.Parse("card.md", []byte("# Card\n\n```swatch\n"+body+"\n```\n"))
	if diags.Has(grammar.Error) {
		return nil, diags
	}
	c, more := dsl.ReadCard(f)
	return c, append(diags, more...)
}

func soundCard(t testing.TB, body string) *dsl.Swatch {
	t.Helper()
	c, diags := readCard(t, body)
	if c == nil {
		t.Fatalf("%s\ncannot be read: %v", body, diags)
	}
	return &c.Swatches[0]
}

func near(t testing.TB, what string, got *big.Rat, want, within float64) {
	t.Helper()
	x, _ := got.Float64()
	if math.Abs(x-want) > within {
		t.Errorf("%s is %v, not %v", what, x, want)
	}
}

// Needlecraft Publishing, Handbook of Wool Knitting and Crochet (1918), Sleeveless Sweater: "11 stitches should measure two
// inches". That is 5.5 to the inch and 27.5/1.27 to 10 cm.
func TestElevenStitchesOverTwoInches(t *testing.T) {
	s := soundCard(t, "fabric main\nwashed: 11 sts over 2 in; 7 rows over 1 in")
	g := s.Washed.Stitches.Gauge()
	if want := big.NewRat(1100, 508); g.Cmp(want) != 0 {
		t.Errorf("%s stitches to a centimetre, not %s", g, want)
	}
	inch := new(big.Rat).Mul(g, big.NewRat(254, 100))
	if inch.Cmp(big.NewRat(11, 2)) != 0 {
		t.Errorf("%s stitches to the inch", inch)
	}
	near(t, "10 cm", new(big.Rat).Mul(g, big.NewRat(10, 1)), 21.654, 0.0005)
}

// 4 in are 10.16 cm (international yard and pound agreement, 1959): 20 stitches to 4 in are 19.685 to 10 cm, and 200 of them
// measure 101.6 cm.
func TestFourInchesAreNotTenCentimetres(t *testing.T) {
	s := soundCard(t, "fabric main\nwashed: 20 sts over 4 in")
	g := s.Washed.Stitches.Gauge()
	near(t, "10 cm", new(big.Rat).Mul(g, big.NewRat(10, 1)), 19.685, 0.0005)
	if w := new(big.Rat).Mul(big.NewRat(200, 1), s.Washed.Stitches.Per); w.Cmp(big.NewRat(1016, 10)) != 0 {
		t.Errorf("200 sts are %s cm", w)
	}
}

// A knitting blog's example (crazyknittinglady, 5 June 2013): 200 stitches meant for 5 to the inch are "closer to 44.5 in" at
// 4.5; the exact figure is 44.4.
func TestHalfAStitchToTheInchIsMoreThanFourInches(t *testing.T) {
	s := soundCard(t, "fabric main\nwashed: 9 sts over 2 in")
	w := new(big.Rat).Mul(big.NewRat(200, 1), s.Washed.Stitches.Per)
	if w.Quo(w, big.NewRat(254, 100)); w.Cmp(big.NewRat(400, 9)) != 0 {
		t.Errorf("%s in", w)
	}
}

// University of Regina, Math Central QQ.09.03: 20 stitches by 20 rows measure 6.25 by 5.25 in before felting and 4 by 3 in
// after. By ISO 5077:2007 that is −36.0 % and −42.9 %. The answer there uses 4 rows to the inch where the counts give 3.81,
// and so has 70 rows for 10 in where 20 rows over 3 in give 66 2/3; the counts are followed here.
func TestFeltingExampleOfTheUniversityOfRegina(t *testing.T) {
	s := soundCard(t, "fabric main\nunwashed: 20 sts over 6.25 in; 20 rows over 5.25 in\nwashed: 20 sts over 4 in; 20 rows over 3 in")
	w, l := dsl.Change(s.Unwashed, s.Washed)
	if w.Cmp(big.NewRat(-36, 1)) != 0 || l.Cmp(big.NewRat(-300, 7)) != 0 {
		t.Errorf("widthwise %s %%, lengthwise %s %%", w, l)
	}
	// The way back is +56.25 %, not +36 %.
	if back, _ := dsl.Change(s.Washed, s.Unwashed); back.Cmp(big.NewRat(5625, 100)) != 0 {
		t.Errorf("back: %s %%", back)
	}
	tenInches := big.NewRat(254, 10)
	if n := new(big.Rat).Mul(tenInches, s.Washed.Stitches.Gauge()); n.Cmp(big.NewRat(50, 1)) != 0 {
		t.Errorf("10 in are %s sts", n)
	}
	if n := new(big.Rat).Mul(tenInches, s.Washed.Rows.Gauge()); n.Cmp(big.NewRat(200, 3)) != 0 {
		t.Errorf("10 in are %s rows", n)
	}
	near(t, "rows to the inch before felting", new(big.Rat).Mul(s.Unwashed.Rows.Gauge(), big.NewRat(254, 100)), 3.81, 0.005)
}

// GATE Textile Engineering examination 2015, question 54: Kc 5.5, Kw 4.2; their ratio is the loop shape factor.
func TestOrdinaryStockingStitch(t *testing.T) {
	near(t, "Kc/Kw", dsl.LoopShape, 5.5/4.2, 1e-12)
	for _, c := range []struct {
		sts, rows int
		ordinary  bool
	}{{28, 36, true}, {22, 30, true}, {21, 28, true}, {20, 28, true}, {18, 24, true}, {20, 32, false}, {20, 20, false}} {
		body := fmt.Sprintf("fabric main\nwashed: %d sts over 10 cm; %d rows over 10 cm", c.sts, c.rows)
		s := soundCard(t, body)
		if got := dsl.Ordinary(s.Washed.Ratio()); got != c.ordinary {
			t.Errorf("%d × %d: ordinary %v", c.sts, c.rows, got)
		}
		_, diags := readCard(t, body)
		if diags.Has(grammar.Warning) == c.ordinary {
			t.Errorf("%d × %d: %v", c.sts, c.rows, diags)
		}
	}
}

// The half stitch that anyone can misread: ½ in 36 is 1.39 %, and 36 sts over 18 cm would have to be read over 25 cm and more.
func TestSingleReading(t *testing.T) {
	s := soundCard(t, "fabric main\nwashed: 36 sts over 18 cm")
	c := s.Washed.Stitches
	near(t, "how sure", c.Off, 1.0/72, 1e-9)
	if c.Trusted() {
		t.Error("trusted to one per cent")
	}
	if w := c.Width(); w.Cmp(big.NewRat(26, 1)) != 0 {
		t.Errorf("the width is %s cm", w)
	}
	least, most := c.Bounds(big.NewRat(100, 1))
	near(t, "least", least, 98.611, 0.001)
	near(t, "most", most, 101.389, 0.001)
	// Over that width it is under one per cent; over a centimetre less it is not.
	for cm, trusted := range map[int]bool{25: false, 26: true} {
		wide := soundCard(t, fmt.Sprintf("fabric main\nwashed: %d sts over %d cm", 2*cm, cm))
		if wide.Washed.Stitches.Trusted() != trusted {
			t.Errorf("over %d cm: trusted is %v", cm, !trusted)
		}
	}
}

// Means and deviations against gonum's, over random readings of counts that differ.
func TestStatisticsAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(1, 8).Draw(t, "readings")
		var said []string
		var per []float64
		var half float64
		for i := 0; i < k; i++ {
			n := rapid.IntRange(10, 60).Draw(t, "stitches")
			mm := n*5 + rapid.IntRange(-n, n).Draw(t, "off")
			said = append(said, fmt.Sprintf("%d sts over %d.%d cm", n, mm/10, mm%10))
			per = append(per, float64(mm)/10/float64(n))
			half += 0.25 / float64(n) / float64(n)
		}
		f, diags := grammar.Parse("card.md", []byte("```swatch\nfabric main\nwashed: "+strings.Join(said, "; ")+"\n```\n"))
		c, more := dsl.ReadCard(f)
		if c == nil {
			t.Fatalf("%v: %v %v", said, diags, more)
		}
		got := c.Swatches[0].Washed.Stitches
		check := func(what string, x *big.Rat, want float64) {
			if v, _ := x.Float64(); math.Abs(v-want) > 1e-8*(1+math.Abs(want)) {
				t.Fatalf("%v: %s is %v, not %v", said, what, v, want)
			}
		}
		check("the mean", got.Per, stat.Mean(per, nil))
		want := math.Sqrt(half) / float64(k)
		if v := got.Variance(); k == 1 {
			if v != nil {
				t.Fatalf("one reading has a variance of %s", v)
			}
		} else {
			check("the variance", v, stat.Variance(per, nil))
			want = math.Max(want, 2*stat.StdErr(stat.StdDev(per, nil), float64(k))/stat.Mean(per, nil))
		}
		check("how sure", got.Off, want)
	})
}

// Readings that happen to be alike are surer than one of them, and not certain.
func TestReadingsAlike(t *testing.T) {
	one := soundCard(t, "fabric main\nwashed: 36 sts over 17 cm").Washed.Stitches.Off
	four := soundCard(t, "fabric main\nwashed: 36 sts over 17, 17, 17, 17 cm").Washed.Stitches.Off
	near(t, "four readings", four, 1.0/144, 1e-9)
	if four.Cmp(one) >= 0 {
		t.Errorf("four readings are sure to within %s, one to %s", four, one)
	}
}

func TestCardsThatCannotBe(t *testing.T) {
	for _, c := range []struct{ body, line, says string }{
		{"fabric main\nwashed: 36 sts over 0 cm", "5:", "above zero"},
		{"fabric main\nwashed: 0 sts over 16 cm", "5:", "above zero"},
		{"fabric main\nwashed: 36 sts over 16 kg", "5:", ""},
		{"fabric main\nwashed: 36 sts over 1 mm", "5:", "finer than any"},
		{"fabric main\nwashed: 1 sts over 200 cm", "5:", "coarser than any"},
		{"fabric main\nwashed: 48 rows over 16 cm", "5:", "no stitches"},
		{"fabric main\nwashed: 40 sts over 10 cm; 15 rows over 10 cm", "5:", "cannot be"},
		{"fabric main\nwashed: 10 sts over 10 cm; 31 rows over 10 cm", "5:", "cannot be"},
		{"fabric main\nunwashed: 36 sts over 18 cm\nwashed: 36 sts over 8.9 cm", "6:", "less than half as wide"},
		{"fabric main\nunwashed: 36 sts over 18 cm; 48 rows over 18 cm\nwashed: 36 sts over 17 cm; 48 rows over 37 cm", "6:", ""},
		{"fabric main\nunwashed: 36 sts over 18 cm; 28 rows over 10 cm\nwashed: 36 sts over 17 cm; 28 rows over 4.9 cm", "6:", "less than half as long"},
		{"fabric main\nhung: 36 sts over 18 cm", "3:", "only measured hanging"},
		{"fabric main, needles 4 mm", "3:", "nothing was measured"},
		{"washed: 36 sts over 18 cm", "3:", "which fabric"},
	} {
		f, diags := grammar.Parse("card.md", []byte("# Card\n\n```swatch\n"+c.body+"\n```\n"))
		if !diags.Has(grammar.Error) {
			card, more := dsl.ReadCard(f)
			if card != nil {
				t.Errorf("%q is read", c.body)
				continue
			}
			diags = more
		}
		line, column := f.Position(diags[0].Span.Start)
		place := fmt.Sprintf("%d:%d", line, column)
		if !strings.HasPrefix(place, c.line) || !strings.Contains(diags[0].Summary, c.says) || diags[0].WayOut == "" {
			t.Errorf("%q: %s: %s\nTry: %s", c.body, place, diags[0].Summary, diags[0].WayOut)
		}
	}
	for _, src := range []string{"# Nothing\n", "```body\nchest = 90 cm\n```\n", "```swatch\n```\n"} {
		f, diags := grammar.Parse("card.md", []byte(src))
		if c, more := dsl.ReadCard(f); c != nil || len(diags)+len(more) == 0 {
			t.Errorf("%q is read as a card", src)
		}
	}
}

func TestWarningsOfCards(t *testing.T) {
	for body, says := range map[string]string{
		"fabric main\nwashed: 28 sts over 10 cm; 20 rows over 10 cm":                                      "out of the ordinary",
		"fabric main\nwashed: 40 sts over 20 cm; 52 rows over 20 cm\nweighs 10 g, 18 cm wide, 25 cm tall": "20 cm were measured on a swatch that is 18 cm wide",
	} {
		c, diags := readCard(t, body)
		if c == nil || len(diags) != 1 || diags[0].Severity != grammar.Warning || !strings.Contains(diags[0].Summary, says) {
			t.Errorf("%q: %v", body, diags)
		}
	}
	// The ratio the other way round is named as what it may be.
	_, diags := readCard(t, "fabric main\nwashed: 28 sts over 10 cm; 20 rows over 10 cm")
	if !strings.Contains(diags[0].WayOut, "rows were read where stitches were meant") {
		t.Error(diags[0].WayOut)
	}
}

func TestShippedCards(t *testing.T) {
	names, _ := filepath.Glob("../testdata/cards/*.md")
	if len(names) == 0 {
		t.Fatal("no cards found")
	}
	for _, name := range names {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		f, diags := grammar.Parse(name, src)
		c, more := dsl.ReadCard(f)
		if c == nil || len(diags)+len(more) > 0 {
			t.Errorf("%s: %v %v", name, diags, more)
		}
	}
}

func TestSwatchOfEachFabric(t *testing.T) {
	draft := func(fabrics string) *dsl.Draft {
		f, diags := grammar.Parse("d.md", []byte("```draft\n"+fabrics+"\n```\n"))
		d, more := dsl.Read(f)
		if d == nil {
			t.Fatal(diags, more)
		}
		return d
	}
	f, _ := grammar.Parse("card.md", []byte("```swatch\nfabric Rib\nwashed: 22 sts over 10 cm\n```\n\n```swatch\nfabric main\nwashed: 20 sts over 10 cm\n```\n"))
	c, _ := dsl.ReadCard(f)
	of, diags := c.OfDraft(draft("fabric main: 20 sts and 28 rows to 10 cm\nfabric lace: 20 sts and 28 rows to 10 cm\nfabric rib: 20 sts and 28 rows to 10 cm"))
	if len(diags) > 0 || of[0] != &c.Swatches[1] || of[1] != nil || of[2] != &c.Swatches[0] {
		t.Errorf("%v %v", of, diags)
	}
	_, diags = c.OfDraft(draft("fabric main: 20 sts and 28 rows to 10 cm"))
	if len(diags) != 1 || f.Text(diags[0].Span) != "Rib" || !strings.Contains(diags[0].WayOut, "its only fabric is main") {
		t.Error(diags)
	}
	f, _ = grammar.Parse("card.md", []byte("```swatch\nfabric main\nwashed: 22 sts over 10 cm\n```\n\n```swatch\nfabric main\nwashed: 20 sts over 10 cm\n```\n"))
	c, _ = dsl.ReadCard(f)
	if _, diags = c.OfDraft(draft("fabric main: 20 sts and 28 rows to 10 cm")); len(diags) != 1 || len(diags[0].Related) != 1 {
		t.Error(diags)
	}
}
