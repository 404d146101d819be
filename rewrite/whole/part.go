package whole

import (
	"math"
	"math/big"
	"slices"
)

// group names the unknowns, rules, scores and rows of the tie-break of one independent part by their indices in the problem,
// ascending.
type group struct {
	vars, rules, scores, better []int
	number                      int32 // among the groups
	*numbering
}

// numbering says of each unknown of a problem which group it is in, and where it stands there.
type numbering struct{ in, at []int32 }

func (p *Problem) every() []int {
	all := make([]int, len(p.Rules))
	for i := range all {
		all[i] = i
	}
	return all
}

// groups splits the problem, with the given rules only, into unknowns that nothing joins. The tie-break joins nothing: it is
// lexicographic over sums, so each part can see to its own share of every sum.
func (p *Problem) groups(rules []int) []group {
	root := make([]int32, len(p.Vars))
	for i := range root {
		root[i] = int32(i)
	}
	find := func(i int) int32 {
		for int(root[i]) != i {
			root[i] = root[root[i]]
			i = int(root[i])
		}
		return int32(i)
	}
	join := func(a, b int) {
		a, b = int(find(a)), int(find(b))
		root[max(a, b)] = int32(min(a, b))
	}
	for _, r := range rules {
		ts := p.Rules[r].Terms
		for _, t := range ts {
			join(ts[0].Var, t.Var)
		}
	}
	for _, s := range p.Scores {
		for _, t := range s.Terms {
			join(s.Terms[0].Var, t.Var)
		}
	}
	n := &numbering{in: make([]int32, len(p.Vars)), at: make([]int32, len(p.Vars))}
	count := int32(0)
	for i := range p.Vars {
		if r := find(i); int(r) == i {
			n.in[i] = count
			count++
		} else {
			n.in[i] = n.in[r]
		}
	}
	gs := make([]group, count)
	vars, said, scored := make([]int, count), make([]int, count), make([]int, count)
	for _, g := range n.in {
		vars[g]++
	}
	for _, r := range rules {
		if ts := p.Rules[r].Terms; len(ts) > 0 {
			said[n.in[ts[0].Var]]++
		}
	}
	for _, s := range p.Scores {
		if len(s.Terms) > 0 {
			scored[n.in[s.Terms[0].Var]]++
		}
	}
	var space store[int]
	space.rest = make([]int, len(p.Vars)+len(rules)+len(p.Scores))
	for i := range gs {
		gs[i] = group{vars: space.take(vars[i])[:0], rules: space.take(said[i])[:0], scores: space.take(scored[i])[:0], number: int32(i), numbering: n}
	}
	for i := range p.Vars {
		g := &gs[n.in[i]]
		n.at[i] = int32(len(g.vars))
		g.vars = append(g.vars, i)
	}
	for _, r := range rules {
		if ts := p.Rules[r].Terms; len(ts) > 0 {
			g := &gs[n.in[ts[0].Var]]
			g.rules = append(g.rules, r)
		}
	}
	for i, s := range p.Scores {
		if len(s.Terms) > 0 {
			g := &gs[n.in[s.Terms[0].Var]]
			g.scores = append(g.scores, i)
		}
	}
	for i, b := range p.Better {
		for _, t := range b {
			g := &gs[n.in[t.Var]]
			if k := len(g.better); k == 0 || g.better[k-1] != i {
				g.better = append(g.better, i)
			}
		}
	}
	return gs
}

// together is the whole problem as one group.
func (p *Problem) together() *group {
	g := &group{numbering: &numbering{in: make([]int32, len(p.Vars)), at: make([]int32, len(p.Vars))}}
	for i := range p.Vars {
		g.vars = append(g.vars, i)
		g.at[i] = int32(i)
	}
	return g
}

// part is one independent part with its unknowns numbered from 0, its scores in whole numbers: the sum is
// unit · Σ weight·(Σ Coef·x + constant)².
type part struct {
	lo, hi, hint []int64
	from         []int64 // what the unknowns are counted from, nil if from 0
	rules        []Rule
	forms        []form
	unit         weight
	better       [][]Term
	mem          *memory
}

type form struct {
	terms    []Term
	constant int64
	small    uint64   // weight, or 0 if it does not fit
	weight   *big.Int // > 0; nil if it is small
}

// heavy is the weight of any size.
func (f *form) heavy() *big.Int {
	if f.small != 0 {
		return new(big.Int).SetUint64(f.small)
	}
	return f.weight
}

// weighs is the weight, rounded.
func (f *form) weighs() float64 {
	if f.small != 0 {
		return float64(f.small)
	}
	w, _ := f.weight.Float64()
	return w
}

// part builds the part for g. With guide the scores are left out and each unknown is drawn to its hint instead, which is what the
// search for any values at all goes by.
func (p *Problem) part(g group, guide bool, mem *memory) (*part, error) {
	if len(g.vars) > MaxJoined || len(g.rules) > MaxJoined || len(g.scores) > MaxJoined {
		return nil, &TooLarge{"too many unknowns, rules or scores are joined"}
	}
	n := len(g.vars)
	pt := &part{mem: mem, lo: mem.longs.take(n), hi: mem.longs.take(n), hint: mem.longs.take(n),
		rules: mem.rules.take(len(g.rules))[:0], better: mem.rows.take(len(g.better))[:0]}
	for i, v := range g.vars {
		pt.lo[i], pt.hi[i], pt.hint[i] = p.Vars[v].Lo, p.Vars[v].Hi, p.Vars[v].Hint
	}
	for _, i := range g.rules {
		r := p.Rules[i]
		var ok bool
		if r.Terms, ok = g.renumber(r.Terms, &mem.terms); !ok {
			return nil, &TooLarge{"the coefficients of a rule do not fit in 64 bits"}
		}
		pt.rules = append(pt.rules, r.reduced())
	}
	for _, i := range g.better {
		ts, ok := g.renumber(p.Better[i], &mem.terms)
		if !ok {
			return nil, &TooLarge{"the coefficients of a tie-break do not fit in 64 bits"}
		}
		if len(ts) > 0 {
			pt.better = append(pt.better, ts)
		}
	}
	if guide {
		pt.unit = weight{num: 1, den: 1}
		for i := range pt.lo {
			h := max(pt.lo[i], min(pt.hi[i], pt.hint[i]))
			var c checked
			f := form{terms: []Term{{i, 1}}, constant: c.sub(0, h), small: 1}
			if c.bad {
				return nil, &TooLarge{"a hint does not fit in 64 bits"}
			}
			pt.forms = append(pt.forms, f)
		}
		return pt, nil
	}
	pt.forms = mem.forms.take(len(g.scores))[:0]
	weights := mem.weights.take(len(g.scores))[:0]
	for _, i := range g.scores {
		f, w, ok := g.wholeForm(&p.Scores[i], &mem.terms)
		if !ok {
			return nil, &TooLarge{"the coefficients of a score do not fit in 64 bits"}
		}
		if w.zero() {
			continue
		}
		pt.forms = append(pt.forms, f)
		weights = append(weights, w)
	}
	pt.weigh(weights)
	return pt, nil
}

// renumber keeps the terms of the unknowns in the group, in their numbers there, ascending, each unknown once.
func (g *group) renumber(ts []Term, space *store[Term]) (out []Term, ok bool) {
	var c checked
	out = space.take(len(ts))[:0]
	for _, t := range ts {
		if g.in[t.Var] != g.number || t.Coef == 0 {
			continue
		}
		i := int(g.at[t.Var])
		at := len(out)
		for at > 0 && out[at-1].Var >= i {
			at--
		}
		if at < len(out) && out[at].Var == i {
			out[at].Coef = c.add(out[at].Coef, t.Coef)
		} else {
			out = slices.Insert(out, at, Term{i, t.Coef})
		}
	}
	return slices.DeleteFunc(out, func(t Term) bool { return t.Coef == 0 }), !c.bad
}

// wholeForm scales a score to whole numbers without a common divisor: weight·(Σ Coef·x + constant)².
func (g *group) wholeForm(s *Score, space *store[Term]) (f form, w weight, ok bool) {
	if f, w, ok = g.smallForm(s, space); ok {
		return f, w, true
	}
	f = form{}
	coef := make([]*big.Rat, len(g.vars))
	den, t := big.NewInt(1), new(big.Int)
	for _, ft := range s.Terms {
		i := g.at[ft.Var]
		if coef[i] == nil {
			coef[i] = ft.Coef
		} else {
			coef[i] = new(big.Rat).Add(coef[i], ft.Coef)
		}
	}
	for _, c := range coef {
		if c != nil && !c.IsInt() {
			lcm(den, c.Denom(), t)
		}
	}
	added := s.Const.rat()
	if !added.IsInt() {
		lcm(den, added.Denom(), t)
	}
	div := new(big.Int)
	scaled := func(c *big.Rat) *big.Int {
		v := new(big.Int).Set(den)
		if !c.IsInt() {
			v.Quo(v, c.Denom())
		}
		v.Mul(v, c.Num())
		div.GCD(nil, nil, div, t.Abs(v))
		return v
	}
	constant := scaled(added)
	whole := make([]*big.Int, len(coef))
	for i, c := range coef {
		if c != nil && c.Sign() != 0 {
			whole[i] = scaled(c)
		}
	}
	w.big = new(big.Rat)
	if div.Sign() == 0 {
		return f, w, true
	}
	for i, v := range whole {
		if v == nil {
			continue
		}
		if v.Quo(v, div); !v.IsInt64() {
			return f, w, false
		}
		f.terms = append(f.terms, Term{i, v.Int64()})
	}
	if constant.Quo(constant, div); !constant.IsInt64() {
		return f, w, false
	}
	f.constant = constant.Int64()
	w.big.SetFrac(div, den)
	w.big.Mul(w.big, w.big)
	if s.Weight != nil {
		w.big.Mul(w.big, s.Weight)
	}
	return f, w, true
}

// approach counts unknowns whose boxes lie far from 0 from the near end of the box, so that the search has small numbers. It
// leaves the part alone if no box does, or if what would have to be added up does not fit.
func (pt *part) approach() {
	const far = 1 << 31
	from := make([]int64, len(pt.lo))
	some := false
	for i := range from {
		if from[i] = max(pt.lo[i], min(pt.hi[i], 0)); size(from[i]) < far || pt.lo[i] > pt.hi[i] {
			from[i] = 0
		}
		some = some || from[i] != 0
	}
	if !some {
		return
	}
	at := func(terms []Term, constant int64) (int64, bool) {
		v := bigLinear(terms, constant, from)
		return v.Int64(), v.IsInt64()
	}
	rules, forms := slices.Clone(pt.rules), slices.Clone(pt.forms)
	for i := range rules {
		r := &rules[i]
		if r.Kind == Multiple {
			v := bigLinear(r.Terms, r.Const, from)
			r.Const = v.Rem(v, big.NewInt(r.Modulus)).Int64()
			continue
		}
		var ok bool
		if r.Const, ok = at(r.Terms, r.Const); !ok {
			return
		}
	}
	for i := range forms {
		var ok bool
		if forms[i].constant, ok = at(forms[i].terms, forms[i].constant); !ok {
			return
		}
	}
	pt.rules, pt.forms, pt.from = rules, forms, from
	for i, f := range from {
		pt.lo[i] -= f
		pt.hi[i] -= f
		var c checked
		h := c.sub(pt.hint[i], f)
		if c.bad { // beyond all values on its side, which is all that counts
			if h = math.MaxInt64; f > 0 {
				h = math.MinInt64
			}
		}
		pt.hint[i] = h
	}
}

// reduced divides out what the coefficients have in common; what that leaves of an inequality's constant is rounded to whole
// numbers, which cuts fractions off. The terms must be the rule's own.
func (r Rule) reduced() Rule {
	g := uint64(0)
	for _, t := range r.Terms {
		g = gcd(g, size(t.Coef))
	}
	if r.Kind == Multiple {
		g = gcd(g, uint64(r.Modulus))
	}
	if g < 2 || g > math.MaxInt64 {
		return r
	}
	d := int64(g)
	if r.Kind != AtLeast && r.Const%d != 0 {
		return r // cannot hold, which the elimination will find
	}
	for i := range r.Terms {
		r.Terms[i].Coef /= d
	}
	r.Const = floorDiv(r.Const, d)
	r.Modulus /= d
	return r
}

func gcd(a, b uint64) uint64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
