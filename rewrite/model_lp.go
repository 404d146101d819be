package rewrite

import (
	"fmt"
	"io"
	"math/big"

	"gaugewright/rewrite/whole"
)

// ModelOf writes the whole-number problem of the target with index t in the LP format that general-purpose integer solvers
// read, see [whole.Problem.WriteLP]. The unknowns are called x0_…, x1_… in their order. A t outside Targets is an error, so is a
// problem with more whole numbers within reach than can be written.
func (c *Conversion) ModelOf(t int, w io.Writer) error {
	s, err := c.solvedAt(t)
	if err != nil {
		return err
	}
	return s.model.named().WriteLP(w, s.answer)
}

// AnswerOf is the value of each unknown in the problem that [Conversion.ModelOf] writes, as the conversion has them; nil for a t
// outside Targets.
func (c *Conversion) AnswerOf(t int) []int64 {
	s, err := c.solvedAt(t)
	if err != nil {
		return nil
	}
	return append([]int64(nil), s.answer...)
}

// Weighed is what values for the unknowns of one size come to, in exact fractions.
type Weighed struct {
	Sum    *big.Rat   // what is to be as small as possible, in square centimetres times weights
	Scores []*big.Rat // the share of each size that is wished for
	// Order decides between equal sums: the values whose first differing number is the larger are taken.
	Order []int64
}

// Weigh re-evaluates values that were found elsewhere, one for each unknown of the target with index t. The error says which
// rule they break, if any.
func (c *Conversion) Weigh(t int, x []int64) (*Weighed, error) {
	s, err := c.solvedAt(t)
	if err != nil {
		return nil, err
	}
	p := s.model.named()
	if len(x) != len(p.Vars) {
		return nil, fmt.Errorf("%d values are given for %d unknowns", len(x), len(p.Vars))
	}
	if r, ok := p.Satisfies(x); !ok {
		if r < 0 || r >= len(s.model.rules) {
			for i, v := range p.Vars {
				if x[i] < v.Lo || x[i] > v.Hi {
					return nil, fmt.Errorf("%s is %d, not from %d to %d", v.Name, x[i], v.Lo, v.Hi)
				}
			}
			return nil, fmt.Errorf("rule %d does not hold", r)
		}
		return nil, fmt.Errorf("it does not hold that %s", s.model.why(r))
	}
	out := &Weighed{Sum: p.Sum(x)}
	for _, score := range p.Scores {
		one := whole.Problem{Vars: p.Vars, Scores: []whole.Score{score}}
		out.Scores = append(out.Scores, one.Sum(x))
	}
	for _, b := range p.Better {
		var n int64
		for _, term := range b {
			n += term.Coef * x[term.Var]
		}
		out.Order = append(out.Order, n)
	}
	return out, nil
}

func (c *Conversion) solvedAt(t int) (*solved, error) {
	if t < 0 || t >= len(c.solved) {
		return nil, fmt.Errorf("there is no size number %d among %d", t, len(c.solved))
	}
	return c.solved[t], nil
}
