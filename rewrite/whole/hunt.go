package whole

import (
	"math"
	"math/big"
	"slices"
)

type state int

const (
	found state = iota
	none        // nothing satisfies the rules
	open        // the budget was spent before either was known
)

type finding struct {
	state      state
	x          []int64
	sum, bound cost
	proven     bool
	nodes      int
}

// effort says when to give up on one way and take the next, in nodes.
type effort struct {
	budget int // for each part
	// attempt is what is spent before a part with switches is split by one of them. A switch (0 or 1) that lifts an inequality
	// costs a relaxation next to nothing, so that only its two cases tell what it costs.
	attempt int
	// relaxAfter is what may pass without any values before a relaxation is asked whether there can be any.
	relaxAfter int
	lattice    bool // do not try elimination
}

func usual(budget int) effort {
	if budget < 1 {
		budget = Budget
	}
	return effort{budget: budget, attempt: 150, relaxAfter: 200}
}

// hunt is what all attempts at a part share.
type hunt struct {
	effort
	any   bool // stop at the first values found
	nodes int
	cut   bool    // the budget is spent
	least float64 // what is left unsearched has sums of at least this

	has   bool
	best  total
	above float64 // best, rounded up
	bestX []int64
}

// solve finds the best values of the part, or with any just some.
func (pt *part) solve(e effort, any bool) (*finding, error) {
	h := &hunt{effort: e, any: any, least: math.Inf(1)}
	short := !any && !e.lattice
	if short {
		if f := pt.alone(); f != nil {
			return f, nil
		}
	}
	pt.approach()
	if short {
		if f := pt.eliminated(e.budget); f != nil {
			return f, nil
		}
	}
	if err := h.explore(pt); err != nil {
		return nil, err
	}
	return h.finding(pt), nil
}

// explore searches the part for something better than the best so far.
func (h *hunt) explore(pt *part) error {
	s, err := h.prepare(pt)
	if s == nil || err != nil {
		return err
	}
	if h.has && s.floor() > h.above {
		return nil
	}
	split := s.toSplit()
	s.limit = h.budget
	if split >= 0 {
		s.limit = min(h.budget, h.nodes+h.attempt)
	}
	s.visit(s.scored-1, 0)
	if s.lat.c.bad {
		return outgrown
	}
	if !s.early {
		return nil
	}
	// The side of the best values so far, or else of the hint, comes first.
	first := max(pt.lo[split], min(pt.hi[split], pt.hint[split]))
	if h.has {
		first = h.bestX[split]
	}
	first = max(s.lo[0][split], min(s.hi[0][split], first)) - s.lo[0][split]
	floor := s.floor()
	lo, hi := slices.Clone(s.lo[0][:len(pt.lo)]), slices.Clone(s.hi[0][:len(pt.lo)])
	for _, side := range []int64{first, 1 - first} {
		if h.nodes >= h.budget {
			h.cut = true
		}
		if h.cut {
			h.least = math.Min(h.least, floor)
			return nil
		}
		c := *pt
		c.lo, c.hi = slices.Clone(lo), slices.Clone(hi)
		c.lo[split] += side
		c.hi[split] = c.lo[split]
		if !c.tighten(h) {
			continue
		}
		if err := h.explore(&c); err != nil {
			return err
		}
		if h.any && h.has {
			return nil
		}
	}
	return nil
}

var outgrown = &TooLarge{"the numbers of the problem do not fit in 64 bits"}

// floor is below every sum of the part.
func (s *search) floor() float64 {
	f := s.squares.floor
	return f - float64(math.Abs(f)*16*ulp)
}

// toSplit is the switch that the relaxation leaves most in between, or -1 if there is none.
func (s *search) toSplit() int {
	z := make([]float64, s.scored)
	for j := s.scored - 1; j >= 0; j-- {
		z[j] = s.squares.centre[j]
		for i := j + 1; i < s.scored; i++ {
			z[j] -= float64(s.squares.mu[i][j] * z[i])
		}
	}
	best, most := -1, -1.0
	for i := range s.pt.lo {
		lo, hi := s.lo[0][i], s.hi[0][i]
		if hi-lo != 1 {
			continue
		}
		x := float64(s.lat.base[i] - lo)
		for j := range z {
			x += float64(z[j] * float64(s.lat.cols[j][i]))
		}
		if m := math.Min(x, 1-x); m > most {
			best, most = i, m
		}
	}
	return best
}

// tighten narrows the boxes by the best sum so far, which no single score may exceed, and lowers the multiples by which switches
// lift inequalities to what is needed in these boxes. It reports false if nothing is left.
func (pt *part) tighten(h *hunt) bool {
	n := newNet(len(pt.lo))
	for _, r := range pt.rules {
		if r.Kind != Multiple {
			n.add(r.Terms, r.Const, r.Kind == Equal)
		}
	}
	if h.has {
		best := h.best.toBig()
		for _, f := range pt.forms {
			most := new(big.Int).Quo(best, f.heavy())
			most.Sqrt(most)
			if !most.IsInt64() || size(f.constant) >= uint64(unbounded) || most.Int64() >= unbounded {
				continue
			}
			back := slices.Clone(f.terms)
			for i := range back {
				back[i].Coef = -back[i].Coef
			}
			n.add(f.terms, most.Int64()+f.constant, false)
			n.add(back, most.Int64()-f.constant, false)
		}
	}
	n.pushAll()
	if !n.narrow(pt.lo, pt.hi, 1000+200*len(n.constant)) {
		return false
	}
	pt.rules = slices.Clone(pt.rules)
	for i := range pt.rules {
		pt.rules[i] = pt.rules[i].tightened(pt.lo, pt.hi)
	}
	return true
}

// tightened is r, or an inequality that in the boxes admits the same whole numbers and fewer fractions: where
// rest + M·y ≥ 0 with y from 0 to 1 and rest ≥ −m, m < M, M can be m.
func (r Rule) tightened(lo, hi []int64) Rule {
	if r.Kind != AtLeast {
		return r
	}
	for i, t := range r.Terms {
		if t.Coef <= 0 || lo[t.Var] != 0 || hi[t.Var] != 1 {
			continue
		}
		var c checked
		rest := r.Const
		for k, o := range r.Terms {
			if k != i {
				v := lo[o.Var]
				if o.Coef < 0 {
					v = hi[o.Var]
				}
				rest = c.add(rest, c.mul(o.Coef, v))
			}
		}
		if m := c.sub(0, rest); !c.bad && m >= 0 && m < t.Coef {
			r.Terms = slices.Clone(r.Terms)
			if r.Terms[i].Coef = m; m == 0 {
				r.Terms = slices.Delete(r.Terms, i, i+1)
			}
			return r
		}
	}
	return r
}

func (h *hunt) finding(pt *part) *finding {
	f := &finding{nodes: h.nodes}
	unfinished := h.cut && !math.IsInf(h.least, 1)
	if !h.has {
		f.state = none
		if unfinished {
			f.state = open
		}
		return f
	}
	f.x = h.bestX
	for i, v := range pt.from {
		f.x[i] += v
	}
	f.sum = cost{h.best, pt.unit}
	f.proven = !unfinished || h.least > h.above
	f.bound = f.sum
	if !f.proven {
		least := new(big.Rat)
		if h.least > 0 {
			least.SetFloat64(h.least)
			least.Mul(least, pt.unit.rat())
		}
		if least.Cmp(f.sum.rat()) < 0 {
			f.bound = cost{total{lo: 1}, weight{big: least}}
		}
	}
	return f
}
