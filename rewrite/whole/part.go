package whole

import (
	"math"
	"math/big"
	"slices"
)

// group names the unknowns, rules, scores and rows of the tie-break of one independent part by their indices in the problem,
// ascending.
type group struct{ vars, rules, scores, better []int }

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
	root := make([]int, len(p.Vars))
	for i := range root {
		root[i] = i
	}
	find := func(i int) int {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	join := func(a, b int) {
		a, b = find(a), find(b)
		root[max(a, b)] = min(a, b)
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
	var gs []group
	at := make([]int, len(p.Vars))
	for i := range p.Vars {
		r := find(i)
		if r == i {
			at[i] = len(gs)
			gs = append(gs, group{})
		}
		g := &gs[at[r]]
		g.vars = append(g.vars, i)
	}
	for _, r := range rules {
		if ts := p.Rules[r].Terms; len(ts) > 0 {
			g := &gs[at[find(ts[0].Var)]]
			g.rules = append(g.rules, r)
		}
	}
	for i, s := range p.Scores {
		if len(s.Terms) > 0 {
			g := &gs[at[find(s.Terms[0].Var)]]
			g.scores = append(g.scores, i)
		}
	}
	for i, b := range p.Better {
		for _, t := range b {
			g := &gs[at[find(t.Var)]]
			if k := len(g.better); k == 0 || g.better[k-1] != i {
				g.better = append(g.better, i)
			}
		}
	}
	return gs
}

// part is one independent part with its unknowns numbered from 0, its scores in whole numbers: the sum is
// unit · Σ weight·(Σ Coef·x + constant)².
type part struct {
	lo, hi, hint []int64
	from         []int64 // what the unknowns are counted from, nil if from 0
	rules        []Rule
	forms        []form
	unit         *big.Rat
	better       [][]Term
}

type form struct {
	terms    []Term
	constant int64
	weight   *big.Int // > 0
	small    uint64   // weight, or 0 if it does not fit
}

// part builds the part for g. With guide the scores are left out and each unknown is drawn to its hint instead, which is what the
// search for any values at all goes by.
func (p *Problem) part(g group, guide bool) (*part, error) {
	if len(g.vars) > MaxJoined || len(g.rules) > MaxJoined || len(g.scores) > MaxJoined {
		return nil, &TooLarge{"too many unknowns, rules or scores are joined"}
	}
	n := len(g.vars)
	pt := &part{unit: big.NewRat(1, 1), lo: make([]int64, 0, n), hi: make([]int64, 0, n), hint: make([]int64, 0, n),
		rules: make([]Rule, 0, len(g.rules)), better: make([][]Term, 0, len(g.better))}
	local := make(map[int]int, len(g.vars))
	for i, v := range g.vars {
		local[v] = i
		pt.lo = append(pt.lo, p.Vars[v].Lo)
		pt.hi = append(pt.hi, p.Vars[v].Hi)
		pt.hint = append(pt.hint, p.Vars[v].Hint)
	}
	for _, i := range g.rules {
		r := p.Rules[i]
		var ok bool
		if r.Terms, ok = renumber(r.Terms, local); !ok {
			return nil, &TooLarge{"the coefficients of a rule do not fit in 64 bits"}
		}
		pt.rules = append(pt.rules, r.reduced())
	}
	for _, i := range g.better {
		ts, ok := renumber(p.Better[i], local)
		if !ok {
			return nil, &TooLarge{"the coefficients of a tie-break do not fit in 64 bits"}
		}
		if len(ts) > 0 {
			pt.better = append(pt.better, ts)
		}
	}
	if guide {
		for i := range pt.lo {
			h := max(pt.lo[i], min(pt.hi[i], pt.hint[i]))
			var c checked
			f := form{terms: []Term{{i, 1}}, constant: c.sub(0, h), weight: big.NewInt(1), small: 1}
			if c.bad {
				return nil, &TooLarge{"a hint does not fit in 64 bits"}
			}
			pt.forms = append(pt.forms, f)
		}
		return pt, nil
	}
	pt.forms = make([]form, 0, len(g.scores))
	weights := make([]*big.Rat, 0, len(g.scores))
	for _, i := range g.scores {
		f, w, ok := wholeForm(&p.Scores[i], local)
		if !ok {
			return nil, &TooLarge{"the coefficients of a score do not fit in 64 bits"}
		}
		if w.Sign() == 0 {
			continue
		}
		pt.forms = append(pt.forms, f)
		weights = append(weights, w)
	}
	// One denominator for all weights, then their common divisor out: sums differ by at least 1 unit.
	den, num, t := big.NewInt(1), new(big.Int), new(big.Int)
	for _, w := range weights {
		lcm(den, w.Denom(), t)
	}
	for i, w := range weights {
		v := new(big.Int).Quo(den, w.Denom())
		pt.forms[i].weight = v.Mul(v, w.Num())
		num.GCD(nil, nil, num, v)
	}
	for i := range pt.forms {
		f := &pt.forms[i]
		if f.weight.Quo(f.weight, num); f.weight.IsUint64() {
			f.small = f.weight.Uint64()
		}
	}
	if num.Sign() > 0 {
		pt.unit.SetFrac(num, den)
	}
	return pt, nil
}

func lcm(a, b, t *big.Int) { // into a
	t.GCD(nil, nil, a, b)
	a.Mul(a, t.Quo(b, t))
}

// renumber keeps the terms of the unknowns in local, in their new numbers, ascending, each unknown once.
func renumber(ts []Term, local map[int]int) (out []Term, ok bool) {
	var c checked
	out = make([]Term, 0, len(ts))
	for _, t := range ts {
		i, in := local[t.Var]
		if !in || t.Coef == 0 {
			continue
		}
		at, found := slices.BinarySearchFunc(out, i, func(t Term, i int) int { return t.Var - i })
		if found {
			out[at].Coef = c.add(out[at].Coef, t.Coef)
		} else {
			out = slices.Insert(out, at, Term{i, t.Coef})
		}
	}
	return slices.DeleteFunc(out, func(t Term) bool { return t.Coef == 0 }), !c.bad
}

// wholeForm scales a score to whole numbers without a common divisor: weight·(Σ Coef·x + constant)².
func wholeForm(s *Score, local map[int]int) (f form, weight *big.Rat, ok bool) {
	if f, weight, ok = smallForm(s, local); ok {
		return f, weight, true
	}
	f = form{}
	coef := make([]*big.Rat, len(local))
	den, t := big.NewInt(1), new(big.Int)
	for _, ft := range s.Terms {
		i := local[ft.Var]
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
	if s.Const != nil && !s.Const.IsInt() {
		lcm(den, s.Const.Denom(), t)
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
	var constant *big.Int
	if s.Const != nil {
		constant = scaled(s.Const)
	}
	whole := make([]*big.Int, len(coef))
	for i, c := range coef {
		if c != nil && c.Sign() != 0 {
			whole[i] = scaled(c)
		}
	}
	weight = new(big.Rat)
	if div.Sign() == 0 {
		return f, weight, true
	}
	for i, v := range whole {
		if v == nil {
			continue
		}
		if v.Quo(v, div); !v.IsInt64() {
			return f, nil, false
		}
		f.terms = append(f.terms, Term{i, v.Int64()})
	}
	if constant != nil {
		if constant.Quo(constant, div); !constant.IsInt64() {
			return f, nil, false
		}
		f.constant = constant.Int64()
	}
	weight.SetFrac(div, den)
	weight.Mul(weight, weight)
	if s.Weight != nil {
		weight.Mul(weight, s.Weight)
	}
	return f, weight, true
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

// smallForm is wholeForm for numbers that leave 64 bits nowhere on the way, which is nearly always. It allocates little.
func smallForm(s *Score, local map[int]int) (f form, weight *big.Rat, ok bool) {
	var c checked
	den := int64(1)
	common := func(r *big.Rat) bool {
		if r.IsInt() {
			return r.Num().IsInt64()
		}
		if !r.Num().IsInt64() || !r.Denom().IsInt64() {
			return false
		}
		d := r.Denom().Int64()
		den = c.mul(den, d/int64(gcd(uint64(den), uint64(d))))
		return !c.bad
	}
	scaled := func(r *big.Rat) int64 {
		if r.IsInt() {
			return c.mul(r.Num().Int64(), den)
		}
		return c.mul(r.Num().Int64(), den/r.Denom().Int64())
	}
	if s.Const != nil && !common(s.Const) {
		return
	}
	for _, t := range s.Terms {
		if !common(t.Coef) {
			return
		}
	}
	ts := make([]Term, len(s.Terms))
	for i, t := range s.Terms {
		ts[i] = Term{t.Var, scaled(t.Coef)}
	}
	if s.Const != nil {
		f.constant = scaled(s.Const)
	}
	if f.terms, ok = renumber(ts, local); !ok || c.bad {
		return f, nil, false
	}
	div := size(f.constant)
	for _, t := range f.terms {
		div = gcd(div, size(t.Coef))
	}
	weight = new(big.Rat)
	if div == 0 {
		return f, weight, true
	}
	if div > math.MaxInt32 {
		return f, nil, false
	}
	d := int64(div)
	f.constant /= d
	for i := range f.terms {
		f.terms[i].Coef /= d
	}
	if e := int64(gcd(div, uint64(den))); den/e <= math.MaxInt32 {
		d, den = d/e, den/e
		weight.SetFrac64(d*d, den*den)
	} else {
		return f, nil, false
	}
	if s.Weight != nil {
		weight.Mul(weight, s.Weight)
	}
	return f, weight, true
}
