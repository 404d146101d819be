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
	sum, bound *big.Rat
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
}

func usual(budget int) effort {
	if budget < 1 {
		budget = Budget
	}
	return effort{budget: budget, attempt: 150, relaxAfter: 200}
}

// search is a depth-first enumeration: the scored columns from the last to the first, nearest value first (Schnorr & Euchner,
// Mathematical Programming 66, 1994; from memory), then the unscored ones, the tie-break's favourite first.
type search struct {
	pt      *part
	lat     *lattice
	squares *squares
	m       *metric
	net     *net
	unknown int // of the part and multipliers; column j is unknown number unknown+j of the net
	scored  int
	settles []settler

	lo, hi [][]int64 // intervals by depth
	z      []int64
	values []int64 // of the forms, at the values chosen so far

	*hunt
	limit  int  // of nodes, for this attempt
	early  bool // the limit is spent, the budget is not
	proved bool // that there are no values, by relaxation
	asked  bool
	x      []int64
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
	pt.approach()
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
			most := new(big.Int).Quo(best, f.weight)
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

// prepare sets up an attempt. The result is nil if there are no values.
func (h *hunt) prepare(pt *part) (*search, error) {
	s := &search{pt: pt, hunt: h}
	n := len(pt.lo)
	lo, hi := append([]int64(nil), pt.lo...), append([]int64(nil), pt.hi...)
	for i := range lo {
		if lo[i] > hi[i] {
			return nil, nil
		}
	}
	// A congruence is an equation with a multiplier, which the others determine.
	type equation struct {
		terms    []Term
		constant int64
	}
	var equations []equation
	s.net = newNet(n)
	for _, r := range pt.rules {
		switch r.Kind {
		case Equal:
			equations = append(equations, equation{r.Terms, r.Const})
		case AtLeast:
			s.net.add(r.Terms, r.Const, false)
		case Multiple:
			if r.Modulus == 1 {
				continue
			}
			lo, hi = append(lo, -unbounded), append(hi, unbounded)
			ts := make([]Term, 0, len(r.Terms)+1)
			for _, t := range r.Terms {
				k := t.Coef % r.Modulus
				if k > r.Modulus/2 {
					k -= r.Modulus
				}
				if k != 0 {
					ts = append(ts, Term{t.Var, k})
				}
			}
			ts = append(ts, Term{len(lo) - 1, -r.Modulus})
			s.net.grow(len(lo))
			equations = append(equations, equation{ts, r.Const % r.Modulus})
		}
	}
	s.unknown = len(lo)
	for _, e := range equations {
		s.net.add(e.terms, e.constant, true)
	}
	s.net.pushAll()
	if !s.net.narrow(lo, hi, 1000+200*len(s.net.constant)) {
		return nil, nil
	}
	s.lat = newLattice(s.unknown)
	for i := range lo {
		if lo[i] == hi[i] {
			s.lat.base[i] = lo[i]
		} else {
			s.lat.free(i)
		}
	}
	for _, e := range equations {
		if !s.lat.meet(e.terms, e.constant) && !s.lat.c.bad {
			return nil, nil
		}
		if s.lat.c.bad {
			break
		}
	}
	if !s.lat.c.bad && len(s.lat.cols) > MaxFree {
		return nil, &TooLarge{"too many unknowns are joined"}
	}
	forms := pt.forms
	s.m = s.lat.metric(forms)
	s.scored = len(s.lat.cols)
	if !s.lat.c.bad && !s.m.independent() {
		s.scored, s.settles = s.lat.split(pt)
		s.m = s.lat.metric(forms)
	}
	s.lat.reduce(s.m, s.scored)
	if s.scored < len(s.lat.cols) {
		s.lat.straighten(s.scored)
	}
	if s.lat.c.bad {
		return nil, outgrown
	}
	lo, hi = s.link(lo, hi)
	s.net.pushAll()
	if !s.net.narrow(lo, hi, 1000+200*len(s.net.constant)) {
		return nil, nil
	}
	depth := len(s.lat.cols)
	s.lo, s.hi = make([][]int64, depth+1), make([][]int64, depth+1)
	space := make([]int64, 2*(depth+1)*len(lo))
	for d := range s.lo {
		s.lo[d], space = space[:len(lo)], space[len(lo):]
		s.hi[d], space = space[:len(lo)], space[len(lo):]
	}
	copy(s.lo[0], lo)
	copy(s.hi[0], hi)
	s.z = make([]int64, depth)
	s.values = make([]int64, len(forms))
	s.x = make([]int64, s.unknown)
	s.squares = s.m.squares(forms, s.scored)
	s.aim(forms, s.m)
	return s, nil
}

// link makes the columns unknowns of the net, by x = base + Σ z·col, and adds their intervals to begin with.
func (s *search) link(lo, hi []int64) ([]int64, []int64) {
	l := s.lat
	s.net.grow(s.unknown + len(l.cols))
	for i := range s.unknown {
		terms := []Term{{i, -1}}
		for j, col := range l.cols {
			if col[i] != 0 {
				terms = append(terms, Term{s.unknown + j, col[i]})
			}
		}
		if len(terms) > 1 {
			s.net.add(terms, l.base[i], true)
		}
	}
	for _, row := range l.rows {
		a, b := -unbounded, unbounded
		if row != nil {
			var c checked
			below, over := int64(0), int64(0)
			for i, k := range row {
				if k == 0 {
					continue
				}
				if lo[i] <= -unbounded || hi[i] >= unbounded {
					c.bad = true
					break
				}
				p, q := c.sub(lo[i], l.base[i]), c.sub(hi[i], l.base[i])
				if k < 0 {
					p, q = q, p
				}
				below, over = c.add(below, c.mul(k, p)), c.add(over, c.mul(k, q))
			}
			if !c.bad {
				a, b = max(a, below), min(b, over)
			}
		}
		lo, hi = append(lo, a), append(hi, b)
	}
	if s.scored == len(l.cols) {
		return lo, hi
	}
	// Where columns are unscored, what the scores and the tie-break fix is more than the columns alone can say: each of their
	// combinations is an unknown too, bound both to the unknowns and to the columns that it depends on.
	combine := func(terms []Term) {
		t := len(lo)
		s.net.grow(t + 1)
		lo, hi = append(lo, -unbounded), append(hi, unbounded)
		s.net.add(append(slices.Clone(terms), Term{t, -1}), 0, true)
		var c checked
		at := int64(0)
		for _, m := range terms {
			at = c.add(at, c.mul(m.Coef, l.base[m.Var]))
		}
		by := []Term{{t, -1}}
		for j, col := range l.cols {
			h := int64(0)
			for _, m := range terms {
				h = c.add(h, c.mul(m.Coef, col[m.Var]))
			}
			if h != 0 {
				by = append(by, Term{s.unknown + j, h})
			}
		}
		if !c.bad {
			s.net.add(by, at, true)
		}
	}
	for _, f := range s.pt.forms {
		if len(f.terms) > 1 {
			combine(f.terms)
		}
	}
	for _, b := range s.settles {
		if len(b.terms) > 1 {
			combine(b.terms)
		}
	}
	return lo, hi
}

func (s *search) done() bool { return s.proved || s.early || s.lat.c.bad || s.any && s.has }

// spend counts a node and reports false if there is none left.
func (s *search) spend() bool {
	if s.nodes >= s.budget {
		s.cut = true
	}
	if s.cut {
		return false
	}
	if s.nodes >= s.limit {
		s.early = true
		return false
	}
	s.nodes++
	if !s.has && !s.asked && s.nodes > s.relaxAfter {
		s.asked = true
		s.proved = s.impossible()
	}
	return !s.proved
}

// fix gives column j the value v at depth d and narrows into depth d+1.
func (s *search) fix(d, j int, v int64) bool {
	lo, hi := s.lo[d+1], s.hi[d+1]
	copy(lo, s.lo[d])
	copy(hi, s.hi[d])
	s.z[j] = v
	id := s.unknown + j
	if lo[id] == v && hi[id] == v {
		return true
	}
	lo[id], hi[id] = v, v
	s.net.push(id)
	return s.net.narrow(lo, hi, 100+10*len(s.net.constant))
}

// visit tries the values of scored column j, given those after it, whose squares add up to at least sum.
func (s *search) visit(j int, sum float64) {
	if j < 0 {
		s.arrive(sum)
		return
	}
	d := s.scored - 1 - j
	lo, hi := s.lo[d][s.unknown+j], s.hi[d][s.unknown+j]
	c := s.squares.centre[j]
	spread := math.Abs(c)
	for i := j + 1; i < s.scored; i++ {
		t := float64(s.squares.mu[i][j] * float64(s.z[i]))
		c -= t
		spread += math.Abs(t)
	}
	if !(math.Abs(c) < float64(unbounded)) {
		c = 0 // no guidance; spread keeps the bound honest
	}
	start := max(lo, min(hi, int64(math.RoundToEven(c))))
	up, down := start, start-1
	upOpen, downOpen := true, start > lo
	for upOpen || downOpen {
		rising := upOpen && (!downOpen || float64(up)-c <= c-float64(down))
		v := down
		if rising {
			v = up
		}
		least, all := s.atLeast(j, sum, v, c, spread)
		// What is cut on one side of the centre cuts all beyond it, whose squares are larger still.
		if s.has && all > s.above || s.cut {
			if !(s.has && all > s.above) {
				s.least = math.Min(s.least, all)
			}
			if rising {
				upOpen = false
			} else {
				downOpen = false
			}
			continue
		}
		if !s.spend() {
			if s.done() {
				return
			}
			continue
		}
		if rising {
			upOpen = up < hi
			up++
		} else {
			downOpen = down > lo
			down--
		}
		if !s.fix(d, j, v) {
			continue
		}
		// Sums are whole: above best−1 there are only equal ones.
		if s.has && s.above < 1<<50 && all > s.above-0.5 && s.hopeless(s.lo[d+1], s.hi[d+1]) {
			continue
		}
		s.visit(j-1, least)
		if s.done() {
			return
		}
	}
}

// atLeast is what the squares from column j on add up to at least if it has the value v, and the same with floor, less a margin
// for the rounding so far. The margin of a value is the sum of the sizes that went into it times the number of operations: the
// usual running error analysis.
func (s *search) atLeast(j int, sum float64, v int64, c, spread float64) (squares, all float64) {
	x := float64(v)
	ops := float64(s.scored+16) * ulp
	y := math.Abs(x-c) - float64((spread+math.Abs(x))*ops) - 1e-200
	squares = sum
	if y > 0 {
		squares += float64(float64(float64(y*y)*s.squares.size[j]) * (1 - 8*ulp))
	}
	if squares > 1e300 {
		squares = 1e300
	}
	all = s.squares.floor + squares
	return squares, all - float64((math.Abs(s.squares.floor)+squares)*ops)
}

// arrive has a value for each scored column: the sum is known.
func (s *search) arrive(sum float64) {
	t := s.sum()
	order := -1
	if s.has && !s.any {
		if order = t.cmp(s.best); order > 0 {
			return
		}
	}
	if !s.choose(0) {
		if s.cut {
			all := s.squares.floor + sum
			s.least = math.Min(s.least, all-float64((math.Abs(s.squares.floor)+sum)*float64(s.scored+16)*ulp))
		}
		return
	}
	x := s.x[:len(s.pt.lo)]
	if order == 0 && !s.better(x, s.bestX) {
		return
	}
	s.has, s.best, s.above = true, t, t.above()
	s.bestX = append(s.bestX[:0], x...)
}

func (s *search) sum() total {
	m := s.m
	var t total
	var c checked
	for k := range m.at {
		v := m.at[k]
		for j := range s.scored {
			v = c.add(v, c.mul(s.z[j], m.cols[j][k]))
		}
		w := s.pt.forms[k].small
		if c.bad || w == 0 || !t.addSquare(w, v) {
			c.bad = true
			break
		}
	}
	if !c.bad {
		return t
	}
	sum, v, a, b := new(big.Int), new(big.Int), new(big.Int), new(big.Int)
	for k := range m.at {
		v.SetInt64(m.at[k])
		for j := range s.scored {
			v.Add(v, a.Mul(a.SetInt64(s.z[j]), b.SetInt64(m.cols[j][k])))
		}
		v.Mul(v, v)
		sum.Add(sum, v.Mul(v, s.pt.forms[k].weight))
	}
	return total{big: sum}
}

// settler is a row of the tie-break that unscored column number i, and none after it, changes: a sum to be largest, or an
// unknown to be near its hint.
type settler struct {
	terms []Term
	hint  bool
}

// choose goes through the unscored columns from number i on. The first values found are the tie-break's favourite: each column
// settles its row, and they come in the order of the rows.
func (s *search) choose(i int) bool {
	j := s.scored + i
	if j == len(s.lat.cols) {
		return s.satisfied()
	}
	d := j
	lo, hi := s.lo[d][s.unknown+j], s.hi[d][s.unknown+j]
	row := s.settles[i]
	var c checked
	step := int64(0)
	for _, t := range row.terms {
		step = c.add(step, c.mul(t.Coef, s.lat.cols[j][t.Var]))
	}
	if s.lat.c.bad = c.bad || step == math.MinInt64; s.lat.c.bad {
		return false
	}
	up, down := hi, hi // a sum to be largest: only one side
	if step < 0 {
		up = lo
	}
	value, hint := int64(0), int64(0)
	if row.hint {
		v := row.terms[0].Var
		hint = s.pt.hint[v]
		value = s.lat.base[v]
		for k := range j {
			value = c.add(value, c.mul(s.z[k], s.lat.cols[k][v]))
		}
		if s.lat.c.bad = c.bad; c.bad {
			return false
		}
		gap := c.sub(hint, value)
		if c.bad || gap == math.MinInt64 { // far outside of what z can do
			if gap = math.MaxInt64; hint < value {
				gap = -gap
			}
		}
		if step > 0 {
			down = floorDiv(gap, step)
		} else {
			down = floorDiv(-gap, -step)
		}
		down = max(lo-1, min(hi, down))
		up = down + 1
	}
	for {
		var v int64
		switch {
		case row.hint:
			if up > hi && down < lo {
				return false
			}
			rising := down < lo
			if up <= hi && down >= lo {
				a, x := distance(value, step, up, hint)
				b, y := distance(value, step, down, hint)
				rising = a < b || a == b && x > y
			}
			if rising {
				v = up
				up++
			} else {
				v = down
				down--
			}
		case step > 0:
			if v = up; v < lo {
				return false
			}
			up--
		default:
			if v = up; v > hi {
				return false
			}
			up++
		}
		if !s.spend() {
			return false
		}
		if s.fix(d, j, v) && s.choose(i+1) {
			return true
		}
		if s.cut || s.proved || s.early || s.lat.c.bad {
			return false
		}
	}
}

func distance(value, step, z, hint int64) (uint64, int64) {
	var c checked
	x := c.add(value, c.mul(step, z))
	if c.bad {
		return math.MaxUint64, 0
	}
	return apart(x, hint), x
}

// satisfied computes the values and checks them against every box and rule, whatever narrowing said.
func (s *search) satisfied() bool {
	var c checked
	copy(s.x, s.lat.base)
	for j, col := range s.lat.cols {
		c.axpy(s.x, s.z[j], col)
	}
	if c.bad {
		v, t, u := new(big.Int), new(big.Int), new(big.Int)
		for i := range s.x {
			v.SetInt64(s.lat.base[i])
			for j, col := range s.lat.cols {
				v.Add(v, t.Mul(t.SetInt64(s.z[j]), u.SetInt64(col[i])))
			}
			if !v.IsInt64() {
				if i < len(s.pt.lo) {
					return false
				}
				v.SetInt64(0)
			}
			s.x[i] = v.Int64()
		}
	}
	for i := range s.pt.lo {
		if s.x[i] < s.pt.lo[i] || s.x[i] > s.pt.hi[i] {
			return false
		}
	}
	for i := range s.pt.rules {
		r := &s.pt.rules[i]
		if !holds(r.Kind, r.Terms, r.Const, r.Modulus, s.x) {
			return false
		}
	}
	return true
}

// better reports whether the tie-break prefers x to y.
func (s *search) better(x, y []int64) bool {
	for _, b := range s.pt.better {
		if d := compareLinear(b, x, y); d != 0 {
			return d > 0
		}
	}
	for i := range x {
		a, b := apart(x[i], s.pt.hint[i]), apart(y[i], s.pt.hint[i])
		if a != b {
			return a < b
		}
		if x[i] != y[i] {
			return x[i] > y[i]
		}
	}
	return false
}

func compareLinear(terms []Term, x, y []int64) int {
	var c checked
	a, b := int64(0), int64(0)
	for _, t := range terms {
		a = c.add(a, c.mul(t.Coef, x[t.Var]))
		b = c.add(b, c.mul(t.Coef, y[t.Var]))
	}
	if c.bad {
		return bigLinear(terms, 0, x).Cmp(bigLinear(terms, 0, y))
	}
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// hopeless reports that no values in the intervals can be preferred to the best ones.
func (s *search) hopeless(lo, hi []int64) bool {
	for _, ts := range s.pt.better {
		var c checked
		a, b := int64(0), int64(0)
		for _, t := range ts {
			v := hi[t.Var]
			if t.Coef < 0 {
				v = lo[t.Var]
			}
			a = c.add(a, c.mul(t.Coef, v))
			b = c.add(b, c.mul(t.Coef, s.bestX[t.Var]))
		}
		if c.bad || a > b {
			return false
		}
		if a < b {
			return true
		}
	}
	for i, x := range s.bestX {
		hint := s.pt.hint[i]
		near := max(lo[i], min(hi[i], hint))
		a, b := apart(near, hint), apart(x, hint)
		if a != b {
			return a > b
		}
		// Of two values at this distance, near is the larger unless that one is not in the interval.
		if near != x {
			return near < x
		}
	}
	return true
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
	f.sum = new(big.Rat).SetInt(h.best.toBig())
	f.sum.Mul(f.sum, pt.unit)
	f.proven = !unfinished || h.least > h.above
	f.bound = f.sum
	if !f.proven {
		f.bound = new(big.Rat)
		if h.least > 0 {
			f.bound.SetFloat64(h.least)
			f.bound.Mul(f.bound, pt.unit)
		}
		if f.bound.Cmp(f.sum) > 0 {
			f.bound = f.sum
		}
	}
	return f
}
