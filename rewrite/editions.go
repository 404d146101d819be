package rewrite

import (
	"fmt"
	"math/big"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// MaxEditions is how many gauges one pattern is published at, at most: more than anybody reads through.
const MaxEditions = 50

// Edition is a draft at one of several gauges.
type Edition struct {
	Name        string // what the author calls it, "" where the gauge is name enough
	Asked       Request
	At          []GaugeChange // one a fabric
	*Conversion               // of the sizes that work; nil where none does
	Failures    []Failure     // the sizes that do not work, in the order of the draft
}

// Failure is why a size does not work at a gauge.
type Failure struct {
	Size string // "" where it is the same for every size, or the draft has one
	grammar.Diagnostic
}

// Publish re-derives a draft for one of several gauges. What contradicts itself in one size does not stop the others: it is a
// Failure. With an error among the diagnostics the request itself is wrong, at this gauge as at any other, and the edition is nil.
func Publish(d *dsl.Draft, name string, r Request) (*Edition, grammar.Diagnostics) {
	e := &Edition{Name: name, Asked: r}
	var diags grammar.Diagnostics
	if e.Conversion, diags = convert(d, r); e.Conversion != nil {
		e.At = e.Gauges
		return e, diags
	}
	asked := &converter{d: d, r: r, c: &Conversion{Draft: d}, old: d.DraftedGauges()}
	if !asked.gauges() || !asked.targets() || !asked.pinsKnown() {
		return nil, asked.diags
	}
	e.At = asked.c.Gauges
	targets := asked.c.Targets
	if len(targets) == 1 {
		e.fail("", diags)
		return e, nil
	}
	var works []string
	for _, t := range targets {
		one := r
		one.Sizes = []string{t.Name}
		if c, why := convert(d, one); c != nil {
			works = append(works, t.Name)
		} else {
			e.fail(t.Name, why)
		}
	}
	if len(works) > 0 && len(works) < len(targets) {
		r.Sizes = works
		if e.Conversion, diags = convert(d, r); e.Conversion != nil {
			return e, diags
		}
	}
	if len(works) > 0 {
		e.fail("", diags) // each of them works, but not beside the others
	}
	return e, nil
}

func (e *Edition) fail(size string, why grammar.Diagnostics) {
	for _, x := range why {
		if x.Severity == grammar.Error {
			x.Summary = strings.TrimSuffix(x.Summary, ", in size "+size)
			e.Failures = append(e.Failures, Failure{size, x})
			return
		}
	}
}

// AsDrafted says whether every fabric has the gauge it was drafted at.
func (c *Conversion) AsDrafted() bool {
	for _, g := range c.Gauges {
		if !g.From.Same(g.To) {
			return false
		}
	}
	return true
}

// GaugeSteps fills in a range of gauges: from the looser end a stitch at a time to the tighter one, which is always among them.
// Rows keep pace with the stitches, to the nearest row, halves upwards. Over 2 in or 5 cm, where swatches are counted in halves,
// stitches and rows go by halves, over 1 in or less by quarters. Where the stitches are one number, the rows go step by step. More
// than MaxEditions steps, and ends that are no cloth, are errors.
func GaugeSteps(r *grammar.GaugeRange) ([]AskedGauge, error) {
	var ends [2]dsl.Gauge // counts over the width, as they are written
	over := new(big.Rat)
	for i, end := range []*grammar.GaugeText{r.From, r.To} {
		g, err := dsl.ReadGauge(*end)
		if err != nil {
			return nil, err
		}
		over.Quo(end.Stitches.Nums[0].Val, g.Stitches)
		ends[i] = perWidth(g, over)
	}
	step := gaugeStep(over)
	lo, hi := ends[0].Stitches, ends[1].Stitches
	byRows := lo.Cmp(hi) == 0 && ends[0].Rows != nil
	if byRows {
		lo, hi = ends[0].Rows, ends[1].Rows
	}
	if n := new(big.Rat).Quo(new(big.Rat).Sub(hi, lo), step); n.Cmp(big.NewRat(MaxEditions-1, 1)) > 0 {
		return nil, fmt.Errorf("that range has more gauges in it than the %d that are published at once", MaxEditions)
	}
	var out []AskedGauge
	for x := lo; ; x = new(big.Rat).Add(x, step) {
		last := x.Cmp(hi) >= 0
		g := ends[1]
		switch {
		case last:
		case byRows:
			g.Rows = x
		default:
			g = dsl.Gauge{Stitches: x, Rows: keepingPace(ends, x, step)}
		}
		out = append(out, AskedGauge{Gauge: perWidth(g, new(big.Rat).Inv(over)), Text: gaugeSaid(g, r.From), Over: r.From.Over})
		if last {
			return out, nil
		}
	}
}

// perWidth is a gauge over a width, in centimetres.
func perWidth(g dsl.Gauge, cm *big.Rat) dsl.Gauge {
	g.Stitches = new(big.Rat).Mul(g.Stitches, cm)
	if g.Rows != nil {
		g.Rows = new(big.Rat).Mul(g.Rows, cm)
	}
	return g
}

// keepingPace is the rows that go with so many stitches between two gauges.
func keepingPace(ends [2]dsl.Gauge, stitches, step *big.Rat) *big.Rat {
	from, to := ends[0], ends[1]
	if from.Rows == nil || from.Rows.Cmp(to.Rows) == 0 || stitches.Cmp(from.Stitches) == 0 {
		return from.Rows
	}
	x := new(big.Rat).Quo(new(big.Rat).Sub(stitches, from.Stitches), new(big.Rat).Sub(to.Stitches, from.Stitches))
	x.Mul(x, new(big.Rat).Sub(to.Rows, from.Rows))
	return dsl.RoundTo(x.Add(x, from.Rows), step)
}

// gaugeStep is the step in which stitches are counted over a width, in centimetres: one stitch over 10 cm or 4 in, half a stitch over
// half of that, a quarter over an inch. Common practice, no source.
func gaugeStep(over *big.Rat) *big.Rat {
	switch {
	case over.Cmp(big.NewRat(15, 2)) >= 0:
		return big.NewRat(1, 1)
	case over.Cmp(big.NewRat(15, 4)) >= 0:
		return big.NewRat(1, 2)
	}
	return big.NewRat(1, 4)
}

// gaugeSaid is a gauge in words, over the width of another: `18 sts and 25 rows to 10 cm`.
func gaugeSaid(g dsl.Gauge, like *grammar.GaugeText) string {
	unit := "cm"
	switch like.Over.Unit {
	case grammar.Inches:
		unit = "in"
	case grammar.Millimetres:
		unit = "mm"
	}
	text := decimal(g.Stitches, 2) + " sts"
	if g.Rows != nil {
		rows := " rows"
		if like.Rounds {
			rows = " rounds"
		}
		text += " and " + decimal(g.Rows, 2) + rows
	}
	return text + " to " + decimal(like.Over.Nums[0].Val, 2) + " " + unit
}
