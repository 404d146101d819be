package rewrite_test

import (
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// shipped is every draft of the project, by file name.
func shipped(t testing.TB) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, dir := range []string{"../testdata/drafts", "../grammar/testdata/drafts"} {
		names, err := filepath.Glob(dir + "/*.md")
		if err != nil || len(names) == 0 {
			t.Fatalf("no drafts in %s: %v", dir, err)
		}
		for _, n := range names {
			b, err := os.ReadFile(n)
			if err != nil {
				t.Fatal(err)
			}
			out[filepath.Base(n)] = string(b)
		}
	}
	return out
}

// factors of the stitch gauge and the row gauge, in hundredths.
var factors = [][2]int64{{90, 90}, {112, 108}, {100, 93}, {83, 95}, {137, 130}, {75, 75}}

func times(g dsl.Gauge, f [2]int64, over *big.Rat) dsl.Gauge {
	one := func(x *big.Rat, k int64) *big.Rat {
		n := new(big.Rat).Mul(x, over)
		n.Mul(n, big.NewRat(k, 100))
		n.Mul(n, big.NewRat(4, 1)) // to a quarter of a stitch, as a swatch is read
		return new(big.Rat).Quo(new(big.Rat).SetFrac(rounded(n), big.NewInt(4)), over)
	}
	return dsl.Gauge{Stitches: one(g.Stitches, f[0]), Rows: one(g.Rows, f[1])}
}

// tiedCount is a count that follows a measurement.
type tiedCount struct {
	mark  int
	rows  bool
	order int
	size  int
}

// tiedCounts is every count tied to a length: its number, and whether that is the nearest there is to its measurement (no
// further from it than nine twentieths of the multiple it must be) and no departure that Check lists.
func tiedCounts(t testing.TB, d *dsl.Draft) (count map[tiedCount]int64, best map[tiedCount]bool) {
	t.Helper()
	departed := map[grammar.Span]bool{}
	notes, _ := rewrite.Check(d)
	for _, n := range notes {
		if strings.Contains(n.Summary, "nearest to which would be") {
			departed[n.Span] = true
		}
	}
	count, best = map[tiedCount]int64{}, map[tiedCount]bool{}
	gauges := d.DraftedGauges()
	for size, run := range d.Runs {
		v := func(q int) int64 { return d.Quantities[q].Drafted[size] }
		order := map[[2]int]int{}
		for i := range run.Scores {
			sc := &run.Scores[i]
			if sc.Tie < 0 {
				continue
			}
			q := d.Quantities[sc.Tie]
			if q.Tie == nil || q.Tie.Kind != dsl.Length {
				continue
			}
			wish, err := d.Eval(q.Tie.Expr, d.DraftedSize(size), gauges)
			if err != nil {
				t.Fatal(err)
			}
			r := 0
			if sc.Rows {
				r = 1
			}
			k := tiedCount{q.Mark, sc.Rows, order[[2]int{q.Mark, r}], size}
			order[[2]int{q.Mark, r}]++
			count[k] = sc.Expr.At(v)
			of := int64(1)
			for _, m := range q.Of {
				of = of * m.Of / gcd(of, m.Of)
			}
			per := gauges[sc.Fabric].Stitches
			if sc.Rows {
				per = gauges[sc.Fabric].Rows
			}
			off := new(big.Rat).Sub(sc.Cm(v, gauges), wish.Const)
			off.Abs(off).Mul(off, per)
			best[k] = off.Cmp(big.NewRat(9*of, 20)) <= 0 && !departed[d.File.Marks[q.Mark].PhraseSpan]
		}
	}
	return count, best
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// There and back again. What comes back is:
//
//   - the draft block, to the byte, and every length, since neither depends on the gauge once it is the old one again;
//   - every count that is tied to a measurement, if it was clearly the best whole number for it in the draft (no further from
//     the measurement than nine twentieths of the multiple it must be, and no departure that Check lists) and the other gauge's
//     number was that there too. Then both ways aim at the same centimetres, and the nearest number to them at the old gauge
//     is the drafted one.
//
// A tied count that lies nearly half-way between two it could be is left out: there a tenth of a stitch decides, and so the
// untied rest of the piece, which weighs a sixteenth, may.
//
// What is not tied cannot be promised: at the other gauge its size is rounded to whole stitches or rows, and on the way back
// that rounded size is all there is to aim at; where the other gauge is coarser the half stitch lost can be a whole one of the
// draft. Nor can a tied count whose number at the other gauge was bent by the rest of its piece: it differs from the best, so
// it is taken for a departure that was meant.
func TestThereAndBack(t *testing.T) {
	ways, asserted, left := 0, 0, 0
	for name, src := range shipped(t) {
		d := read(t, src)
		drafted, best := tiedCounts(t, d)
		for i, f := range factors {
			if testing.Short() && i > 1 {
				break
			}
			over := big.NewRat(10, 1)
			if strings.Contains(src, "to 4 in") {
				over = big.NewRat(1016, 100)
			}
			there := rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: times(d.Fabrics[0].Gauge, f, over)}}}
			c1, _ := convert(t, d, there)
			if c1 == nil {
				continue // a chart that is fixed can leave no room; convert has seen to it that this is explained
			}
			(&subject{t: t, d: d, r: there, c: c1}).hold()
			d2 := read(t, string(c1.New))
			_, best2 := tiedCounts(t, d2)
			back := rewrite.Request{}
			for _, x := range d.Fabrics {
				back.Gauges = append(back.Gauges, rewrite.AskedGauge{Fabric: x.Name, Gauge: x.Gauge})
			}
			c2, ds := convert(t, d2, back)
			if c2 == nil {
				t.Errorf("%s by %v: there is no way back:\n%s", name, f, told(d2.File, ds))
				continue
			}
			d3 := read(t, string(c2.New))
			ways++
			if a, b := d.File.Text(d.Block.Span), d3.File.Text(d3.Block.Span); a != b {
				t.Errorf("%s by %v: the draft block comes back as\n%s\nnot\n%s", name, f, b, a)
			}
			if a, b := lengths(d), lengths(d3); a != b {
				t.Errorf("%s by %v: lengths come back as\n%s\nnot\n%s", name, f, b, a)
			}
			final, _ := tiedCounts(t, d3)
			for k, n := range drafted {
				if !best[k] || !best2[k] {
					left++
					continue
				}
				asserted++
				if final[k] != n {
					t.Errorf("%s by %v: `%s` in size %d was %d and comes back as %d; there it was\n%s", name, f, d.File.Text(d.File.Marks[k.mark].PhraseSpan), k.size, n, final[k],
						d2.File.Text(d2.File.Marks[k.mark].PhraseSpan))
				}
			}
		}
	}
	if ways == 0 || asserted < 2*left {
		t.Errorf("%d ways; %d tied counts put to the test and %d left out: too few", ways, asserted, left)
	}
	t.Logf("%d ways, %d tied counts come back, %d are not put to the test", ways, asserted, left)
}

// lengths is every length a draft states, instruction by instruction.
func lengths(d *dsl.Draft) string {
	var b strings.Builder
	for i, m := range d.File.Marks {
		grammar.Values(m.Phrase, func(v *grammar.Value) {
			if v.Unit.IsLength() {
				if _, said := m.Phrase.(*grammar.GaugeSaid); !said {
					fmt.Fprintf(&b, "%d %s\n", i, d.File.Text(v.Span))
				}
			}
		})
	}
	return b.String()
}

// Every draft of the project converts to what is sound, size by size too.
func TestShippedDraftsBySize(t *testing.T) {
	for name, src := range shipped(t) {
		d := read(t, src)
		over := big.NewRat(10, 1)
		if strings.Contains(src, "to 4 in") {
			over = big.NewRat(1016, 100)
		}
		for _, size := range d.Sizes {
			if size == "" {
				continue
			}
			own, ds := convert(t, d, rewrite.Request{Sizes: []string{size}})
			if own == nil {
				t.Fatalf("%s: size %s alone:\n%s", name, size, told(d.File, ds))
			}
			if wrong := regexp.MustCompile(`\d(st|nd|rd|th) (rows|rounds|rnds)|\b1 (sts|rows|rounds|rnds|times)\b`).Find(own.New); wrong != nil {
				t.Errorf("%s: size %s alone says %q", name, size, wrong)
			}
			s := own.Targets[0].Base()
			for i := range own.Marks {
				st := stage(d.Runs[s], i)
				if st == nil {
					continue
				}
				v := func(q int) int64 { return d.Quantities[q].Drafted[s] }
				after := st.Count.At(v)
				for _, p := range st.Running {
					after += p.PerTime * p.Schedule.Done(p.Elapsed.At(v), v, dsl.QuickFirst(d, p.Schedule, s))
				}
				if own.Marks[i].After[0] != after || own.Marks[i].Rows[0] != st.Rows.At(v) {
					t.Errorf("%s: `%s` of size %s alone is %d sts and %d rows", name, d.File.Text(d.File.Marks[i].PhraseSpan), size, own.Marks[i].After[0], own.Marks[i].Rows[0])
				}
			}
			if testing.Short() {
				continue
			}
			r := rewrite.Request{Sizes: []string{size}, Gauges: []rewrite.AskedGauge{{Gauge: times(d.Fabrics[0].Gauge, [2]int64{92, 94}, over)}}}
			if c, _ := convert(t, d, r); c != nil && !hasOnly(d) {
				(&subject{t: t, d: d, r: r, c: c}).hold()
			}
		}
	}
}

// hasOnly says whether some instruction is for some sizes only: it goes with its braces where none of them is left.
func hasOnly(d *dsl.Draft) bool {
	for _, m := range d.File.Marks {
		if len(m.Only) > 0 {
			return true
		}
	}
	return false
}
