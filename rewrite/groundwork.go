package rewrite

import (
	"math/big"
	"sync"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite/whole"
)

// groundwork is what a drafted size is before anything is asked of it. Nothing in it hangs on a new gauge, so it is worked out once and
// kept with the draft for every conversion of it, also for several at a time. It is never changed once made.
type groundwork struct {
	d       *dsl.Draft
	run     *dsl.Run
	frame   *frame // of a draft of which nothing is knitted yet
	index   *index
	drafted []dsl.Fraction // of each score: its size as drafted, in centimetres
	tied    []dsl.Fraction // of each score with a tie: what that asks for at the drafted gauge
	noTie   []error        // of each score with a tie: why it has no value
	// plain says that every tied count is plainly the best, see nearest. Untied sizes are wished for as drafted, so nothing can
	// then be better: the derivation would have chosen the same, and need not be asked.
	plain bool
	// own is what the derivation would have chosen at the draft's own gauge, nil where it finds nothing.
	own func() *outcome
}

type groundKey struct{ size int }

// groundOf is the groundwork of a drafted size.
func groundOf(d *dsl.Draft, size int) *groundwork {
	return d.Keep(groundKey{size}, func() any { return newGround(d, size) }).(*groundwork)
}

func newGround(d *dsl.Draft, size int) *groundwork {
	run := d.Runs[size]
	n := len(run.Scores)
	p := &groundwork{d: d, run: run, index: newIndex(d, run), drafted: make([]dsl.Fraction, n), tied: make([]dsl.Fraction, n), noTie: make([]error, n), plain: true}
	p.frame = newFrame(d, run, func(*dsl.Quantity) bool { return false })
	eval := d.Evaluator(d.DraftedSize(size), d.DraftedGauges())
	for i := range run.Scores {
		sc := &run.Scores[i]
		p.drafted[i] = p.size(sc)
		if sc.Tie < 0 {
			continue
		}
		p.tied[i], p.noTie[i] = tieOf(d, sc, eval)
		p.plain = p.plain && p.nearest(i)
	}
	p.own = sync.OnceValue(p.solve)
	return p
}

// size is a score's size at the numbers drafted for its size, in centimetres.
func (p *groundwork) size(sc *dsl.Score) dsl.Fraction { return sc.Size(p.at, p.d.DraftedGauges()) }

// score is what score number i of a run, which may be that of another size, measures as drafted, and what its tie asks for.
func (p *groundwork) score(run *dsl.Run, i int) (drafted, tied dsl.Fraction, err error) {
	if run == p.run {
		return p.drafted[i], p.tied[i], p.noTie[i]
	}
	sc := &run.Scores[i]
	tied, err = tieOf(p.d, sc, p.d.Evaluator(p.d.DraftedSize(p.run.Size), p.d.DraftedGauges()))
	return p.size(sc), tied, err
}

// tieOf is what a score's tie asks for, in centimetres.
func tieOf(d *dsl.Draft, sc *dsl.Score, eval func(grammar.Expr) (*dsl.Form, error)) (dsl.Fraction, error) {
	f, err := eval(d.Quantities[sc.Tie].Tie.Expr)
	if err != nil {
		return dsl.Fraction{}, err
	}
	return dsl.FractionFrom(f.Const), nil
}

func (p *groundwork) at(q int) int64 { return p.d.Quantities[q].Drafted[p.run.Size] }

// nearest says whether the drafted count of a tied score is nearer to its measurement than any other that the multiples on
// it allow. False where that is not plain to see.
func (p *groundwork) nearest(i int) bool {
	sc := &p.run.Scores[i]
	if len(sc.Expr.Terms) != 1 || sc.Expr.Terms[0].Coef != 1 {
		return false
	}
	q := p.d.Quantities[sc.Expr.Terms[0].Quantity]
	if q.Fixed {
		return true
	}
	if p.noTie[i] != nil {
		return false
	}
	per := p.d.DraftedGauges()[sc.Fabric].Stitches
	if sc.Rows {
		per = p.d.DraftedGauges()[sc.Fabric].Rows
	}
	off := p.drafted[i].Minus(p.tied[i]).Abs().Times(dsl.FractionFrom(per)) // in stitches
	step := int64(1)
	for k := range p.run.Relations {
		r := &p.run.Relations[k]
		if r.Kind == dsl.Multiple && len(r.Expr.Terms) == 1 && r.Expr.Terms[0].Quantity == q.ID && r.Expr.Terms[0].Coef == 1 {
			step = lcm64(step, r.Mod)
		}
	}
	return off.Plus(off).Cmp(dsl.FractionOf(step)) < 0
}

func gcd64(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func lcm64(a, b int64) int64 { return a / gcd64(a, b) * b }

// solve is what own is.
func (p *groundwork) solve() *outcome {
	m, err := p.model()
	if err != nil {
		return nil
	}
	o, bad := m.solve(whole.Budget)
	if bad != nil {
		return nil
	}
	return o
}

// model is the problem of the drafted size at the draft's own gauge.
func (p *groundwork) model() (*model, error) {
	f, size := p.frame, p.run.Size
	weighed := make([]bool, len(f.group))
	for i := range p.run.Scores {
		if g := f.scores[i].group; g >= 0 && p.run.Scores[i].Tie >= 0 && p.noTie[i] == nil && !p.nearest(i) {
			weighed[g] = true // in the others every tied count is plainly the best
		}
	}
	score := func(i int) dsl.Fraction {
		if p.run.Scores[i].Tie >= 0 && p.noTie[i] == nil {
			return p.tied[i]
		}
		return p.drafted[i]
	}
	length := func(i int) *big.Rat {
		x, _ := p.d.Stated(p.d.Quantities[p.run.Lengths[i].Length], p.d.DraftedSize(size))
		return x
	}
	return f.build(wishes{gauges: p.d.DraftedGauges(), score: score, length: length,
		ratio:   func(k *dsl.Pickup) (int64, int64) { return ratioDrafted(p.d, k, size) },
		changed: func(g int) bool { return weighed[g] }})
}
