package whole

import (
	"math"
	"math/big"
	"slices"
)

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

	*hunt
	limit  int  // of nodes, for this attempt
	early  bool // the limit is spent, the budget is not
	proved bool // that there are no values, by relaxation
	asked  bool
	x      []int64
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
		sum.Add(sum, v.Mul(v, s.pt.forms[k].heavy()))
	}
	return total{big: sum}
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
