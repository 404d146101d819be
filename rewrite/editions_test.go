package rewrite

import (
	"fmt"
	"math/big"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

func rangeOf(t interface {
	Helper()
	Fatalf(string, ...any)
}, text string) *grammar.GaugeRange {
	t.Helper()
	_, r, err := grammar.ParseGaugeRange(text)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return r
}

func TestGaugeSteps(t *testing.T) {
	for text, want := range map[string]string{
		"18 to 24 sts and 25 to 32 rows to 10 cm": "18 sts and 25 rows to 10 cm; 19 sts and 26 rows to 10 cm; 20 sts and 27 rows to 10 cm; 21 sts and 29 rows to 10 cm; " +
			"22 sts and 30 rows to 10 cm; 23 sts and 31 rows to 10 cm; 24 sts and 32 rows to 10 cm",
		"4.5 to 5½ sts and 6 to 7 rounds to 1 in": "4.5 sts and 6 rounds to 1 in; 4.75 sts and 6.25 rounds to 1 in; 5 sts and 6.5 rounds to 1 in; 5.25 sts and 6.75 rounds to 1 in; 5.5 sts and 7 rounds to 1 in",
		"9 to 10 sts and 12 to 13.5 rows to 5 cm": "9 sts and 12 rows to 5 cm; 9.5 sts and 13 rows to 5 cm; 10 sts and 13.5 rows to 5 cm",
		"18.5 to 20 sts to 4 in":                  "18.5 sts to 4 in; 19.5 sts to 4 in; 20 sts to 4 in",
		"18 to 20 sts and 25.5 rows to 100 mm":    "18 sts and 25.5 rows to 100 mm; 19 sts and 25.5 rows to 100 mm; 20 sts and 25.5 rows to 100 mm",
		"20 sts and 26 to 28 rows to 10 cm":       "20 sts and 26 rows to 10 cm; 20 sts and 27 rows to 10 cm; 20 sts and 28 rows to 10 cm",
		"20 sts and 28 rows to 10 cm":             "20 sts and 28 rows to 10 cm",
		"20 to 20 sts and 26 to 26 rows to 10 cm": "20 sts and 26 rows to 10 cm",
	} {
		steps, err := GaugeSteps(rangeOf(t, text))
		var said []string
		for _, s := range steps {
			said = append(said, s.Text)
		}
		if got := strings.Join(said, "; "); err != nil || got != want {
			t.Errorf("%s: %v\n got %s\nwant %s", text, err, got, want)
		}
	}
	for text, says := range map[string]string{
		"1 to 51 sts to 10 cm":   "that range has more gauges in it than the 50 that are published at once",
		"18 to 999 sts to 10 cm": "finer than any hand-knitted cloth",
	} {
		if steps, err := GaugeSteps(rangeOf(t, text)); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %d steps, %v", text, len(steps), err)
		}
	}
}

// Whatever the range: its ends are the first and the last step as they were written, no step is missed, what a step says is what it
// is, and rows stay between those of the ends.
func TestGaugeStepsOfAnyRange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.IntRange(8, 80).Draw(t, "quarters")
		hi := lo + rapid.IntRange(0, 40).Draw(t, "more quarters")
		rows := rapid.IntRange(8, 120).Draw(t, "rows")
		more := rows + rapid.IntRange(0, 40).Draw(t, "more rows")
		over := rapid.SampledFrom([]string{"1 in", "2 in", "4 in", "5 cm", "10 cm", "100 mm"}).Draw(t, "over")
		quarters := func(n int) string { return decimal(big.NewRat(int64(n), 4), 2) }
		r := rangeOf(t, fmt.Sprintf("%s to %s sts and %d to %d rows to %s", quarters(lo), quarters(hi), rows, more, over))
		steps, err := GaugeSteps(r)
		if err != nil {
			t.Skip("more than are published")
		}
		for i, end := range []*grammar.GaugeText{r.From, r.To} {
			g, _ := dsl.ReadGauge(*end)
			if s := steps[i*(len(steps)-1)]; !s.Gauge.Same(g) {
				t.Fatalf("end %d is %s", i, s.Text)
			}
		}
		for i, s := range steps {
			_, said, err := grammar.ParseGauge(s.Text)
			if err != nil {
				t.Fatal(err)
			}
			if g, err := dsl.ReadGauge(*said); err != nil || !g.Same(s.Gauge) {
				t.Fatalf("%s is not what it says: %v", s.Text, err)
			}
			if i == 0 {
				continue
			}
			before := steps[i-1].Gauge
			if s.Gauge.Stitches.Cmp(before.Stitches) < 0 || s.Gauge.Rows.Cmp(before.Rows) < 0 || s.Gauge.Same(before) {
				t.Fatalf("%s comes after %s", s.Text, steps[i-1].Text)
			}
			limit := new(big.Rat).Quo(big.NewRat(1, 1), before.Stitches)
			limit.Mul(limit, said.Stitches.Nums[0].Val)
			if lo != hi && new(big.Rat).Sub(s.Gauge.Stitches, before.Stitches).Cmp(limit) > 0 {
				t.Fatalf("from %s to %s is more than a stitch", steps[i-1].Text, s.Text)
			}
		}
	})
}

func readShipped(t testing.TB, name string) *dsl.Draft {
	t.Helper()
	src, err := os.ReadFile("../testdata/drafts/" + name)
	if err != nil {
		t.Fatal(err)
	}
	f, diags := grammar.Parse(name, src)
	d, more := dsl.Read(f)
	if diags.Has(grammar.Fault) || more.Has(grammar.Fault) {
		t.Fatal(diags, more)
	}
	return d
}

func at(t *testing.T, text string) Request {
	t.Helper()
	steps, err := GaugeSteps(rangeOf(t, text))
	if err != nil || len(steps) != 1 {
		t.Fatal(text, err)
	}
	return Request{Gauges: steps}
}

// A size that does not work does not stop the others, and those come out as they would by themselves.
func TestPublishTheSizesThatWork(t *testing.T) {
	d := readShipped(t, "nine-gulls.md")
	r := at(t, "15 sts and 21 rows to 10 cm")
	e, diags := Publish(d, "", r)
	if e == nil || e.Conversion == nil {
		t.Fatal(diags)
	}
	var failed []string
	for _, f := range e.Failures {
		failed = append(failed, f.Size)
		if f.Summary == "" || f.WayOut == "" || len(f.Related) < 2 || strings.Contains(f.Summary, "in size") {
			t.Errorf("%s: %+v", f.Size, f)
		}
	}
	if got := strings.Join(failed, " "); got != "S M" || len(e.Targets) != 2 || e.Targets[0].Name != "L" {
		t.Fatalf("failed %q, works in %d sizes", got, len(e.Targets))
	}
	r.Sizes = []string{"L", "XL"}
	c, diags := Convert(d, r)
	if c == nil || string(c.New) != string(e.New) {
		t.Error("they come out otherwise than by themselves", diags)
	}
}

func TestPublishRefusesWhatIsWrongAtAnyGauge(t *testing.T) {
	d := readShipped(t, "nine-gulls.md")
	for says, change := range map[string]func(*Request){
		"the draft has no size XXL":   func(r *Request) { r.Sizes = []string{"XXL"} },
		"the draft has no fabric":     func(r *Request) { r.Tighter = []Tighter{{"cuff", big.NewRat(1, 25)}} },
		"two gauges are given for ma": func(r *Request) { r.Gauges = append(r.Gauges, r.Gauges[0]) },
	} {
		r := at(t, "15 sts and 21 rows to 10 cm")
		change(&r)
		if e, diags := Publish(d, "", r); e != nil || !strings.Contains(diags.Error(), says) {
			t.Errorf("%v, not %s", diags, says)
		}
	}
}

// What a size gives is what its numbers measure: the first of a piece to follow a measurement, worked out by hand.
func TestWhatASizeGives(t *testing.T) {
	d := readShipped(t, "second-best.md")
	find := func(c *Conversion, size int, name string) Got {
		for _, g := range c.Gives(size) {
			if g.Name == name {
				return g
			}
		}
		t.Fatalf("no %s", name)
		return Got{}
	}
	// 98 sts at 22 to 10 cm are 44.55 cm, wanted 44; a bust of (44.55 × 2) − 6 cm would fit.
	drafted, _ := Publish(d, "", Request{})
	if g := find(drafted.Conversion, 0, "back width"); g.Gets.Cmp(big.NewRat(980, 22)) != 0 || g.Wanted.Cmp(big.NewRat(44, 1)) != 0 {
		t.Errorf("drafted: %v", g)
	}
	if g := find(drafted.Conversion, 0, "bust"); g.Gets.Cmp(big.NewRat(1960-6*22, 22)) != 0 || g.Wanted.Cmp(big.NewRat(82, 1)) != 0 {
		t.Errorf("drafted: %v", g)
	}
	// 78 sts at 18 to 10 cm are 43.33 cm.
	e, _ := Publish(d, "", at(t, "18 sts and 25 rows to 10 cm"))
	if g := find(e.Conversion, 0, "back width"); g.Gets.Cmp(big.NewRat(780, 18)) != 0 || g.Wanted.Cmp(big.NewRat(44, 1)) != 0 {
		t.Errorf("at 18 sts: %v", g)
	}
	if !drafted.AsDrafted() || e.AsDrafted() {
		t.Error("which of them is at the draft's own gauge?")
	}
}
