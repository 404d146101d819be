package whole

import (
	"math"
	"slices"
)

// Elimination is the short way for parts whose unknowns hang together loosely, which those of a garment do: one count follows from
// the last by one shaping. Every rule and score is broken into lines between at most three numbers (the unknowns, and sums of two
// others), and the numbers are eliminated one after the other: for each choice of its neighbours the best value of the number is
// written into a table, and the table takes its place (nonserial dynamic programming, Bertelè & Brioschi 1972; from memory). What
// makes the tables small is a limit on the sum: no single score can exceed what the limit leaves after the least that all others
// cost. A solution not above the limit is then the best of all, since everything up to the limit was in the tables; else the limit
// is raised. Prices are rounded down, which can only let more into the tables, and where two choices are too near for that to tell
// them apart they are compared exactly. Where numbers leave 64 bits or a table grows too large, the search by lattice takes over.

// maxTabled bounds the values that one elimination tries, maxNumbers the numbers it is tried with.
const (
	maxTabled  = 20_000
	maxNumbers = 256
)

// price is a sum of weighted squares in a unit that suits the part, rounded down: the true sum is at most margin more for each
// score. Where that leaves open which of two choices is better, their sums are compared exactly.
type price uint64

const (
	margin = 2
	far    = price(1) << 48 // stands for all that cost more
	dear   = price(1) << 61 // what is not allowed; a thousand scores cost less
)

// sight is one score as the square of a single number: weight·(coef·number + constant)².
type sight struct {
	number         int // -1 if the score is constant
	coef, constant int64
	form           *form
	weight         float64
	best           int64 // the number's value that costs least
	least          price
}

func (s *sight) at(v int64) float64 {
	var c checked
	if v = c.add(c.mul(s.coef, v), s.constant); c.bad {
		return math.Inf(1)
	}
	x := float64(v)
	return float64(s.weight * float64(x*x))
}

// price rounds down by more than what the few roundings so far can have been up, and by less than margin.
func (s *sight) price(v int64) price {
	f := s.at(v)
	f -= float64(f * 8 * ulp)
	if !(f < float64(far)) {
		return far
	}
	return price(f)
}

// line is Σ coef·number + constant = 0 or ≥ 0 between two or three numbers.
type line struct {
	terms    []Term
	constant int64
	equal    bool
}

// alias says that a number is sign·root + offset.
type alias struct {
	root         int
	sign, offset int64
}

type pair struct {
	a, b   int
	ka, kb int64
}

// network is a part in numbers and lines. The first numbers are the part's unknowns.
type network struct {
	pt     *part
	alias  []alias
	lo, hi []int64
	// Values of a number are rest more than a multiple of step.
	step, rest []int64
	lines      []line
	sights     []sight
	sums       map[pair]int
	net        *net
	never      bool // the rules contradict each other
	mem        *memory
	c          checked
}

// find is the root of a number and how its value follows from that of the root.
func (n *network) find(i int) alias {
	a := alias{i, 1, 0}
	for n.alias[a.root].root != a.root {
		b := n.alias[a.root]
		a = alias{b.root, a.sign * b.sign, n.c.add(n.c.mul(a.sign, b.offset), a.offset)}
	}
	return a
}

// resolve writes a form in roots, each once, in their order.
func (n *network) resolve(terms []Term, constant int64) ([]Term, int64) {
	out := n.mem.terms.take(len(terms))[:0]
	for _, t := range terms {
		a := n.find(t.Var)
		constant = n.c.add(constant, n.c.mul(t.Coef, a.offset))
		k := n.c.mul(t.Coef, a.sign)
		at := len(out)
		for at > 0 && out[at-1].Var >= a.root {
			at--
		}
		if at < len(out) && out[at].Var == a.root {
			if out[at].Coef = n.c.add(out[at].Coef, k); out[at].Coef == 0 {
				out = slices.Delete(out, at, at+1)
			}
			continue
		}
		out = slices.Insert(out, at, Term{a.root, k})
	}
	return out, constant
}

// number makes another one, not bound to anything yet but its interval.
func (n *network) number(lo, hi int64) int {
	n.alias = append(n.alias, alias{len(n.alias), 1, 0})
	n.lo, n.hi = append(n.lo, lo), append(n.hi, hi)
	n.step, n.rest = append(n.step, 1), append(n.rest, 0)
	return len(n.alias) - 1
}

// sum adds the terms up pair by pair, which makes a number of every sum on the way: the counts of a piece, in the order of the
// knitting, share theirs. Up to most terms are left as they are where their sum has no number yet.
func (n *network) sum(terms []Term, constant int64, most int) ([]Term, int64) {
	terms, constant = n.resolve(terms, constant)
	for len(terms) > 1 {
		key, d := pairOf(terms[0], terms[1])
		p, known := n.sums[key]
		if !known && len(terms) <= most {
			break
		}
		if !known {
			p = n.number(-unbounded, unbounded)
			n.sums[key] = p
			n.lines = append(n.lines, line{n.mem.three(Term{key.a, key.ka}, Term{key.b, key.kb}, Term{p, -1}), 0, true})
			n.congruent(p, n.commonStep(key), n.c.add(n.c.mul(key.ka, n.rest[key.a]), n.c.mul(key.kb, n.rest[key.b])))
		}
		a := n.find(p)
		constant = n.c.add(constant, n.c.mul(d, a.offset))
		// The sum stays in front, whatever its number, so that longer sums go on from it.
		terms = terms[1:]
		terms[0] = Term{a.root, n.c.mul(d, a.sign)}
		if len(terms) > 1 {
			for _, t := range terms[1:] {
				if t.Var == a.root {
					terms, constant = n.resolve(terms, constant)
					break
				}
			}
		}
		if n.c.bad {
			return nil, 0
		}
	}
	return terms, constant
}

// pairOf is the sum of two terms without what their coefficients have in common, which is times.
func pairOf(a, b Term) (key pair, times int64) {
	d := int64(gcd(size(a.Coef), size(b.Coef)))
	if a.Coef < 0 {
		d = -d
	}
	return pair{a.Var, b.Var, a.Coef / d, b.Coef / d}, d
}

// commonStep is what the values of a sum differ by multiples of.
func (n *network) commonStep(p pair) int64 {
	a, b := n.c.mul(p.ka, n.step[p.a]), n.c.mul(p.kb, n.step[p.b])
	return int64(gcd(size(a), size(b)))
}

// congruent notes that a root is rest more than a multiple of step.
func (n *network) congruent(i int, step, rest int64) {
	if step < 1 || n.c.bad {
		n.c.bad = n.c.bad || step < 1
		return
	}
	r, m := n.rest[i], n.step[i]
	d := int64(gcd(uint64(m), uint64(step)))
	if (r-rest)%d != 0 {
		n.never = true
		return
	}
	// One of the next step/d values has both rests.
	if step/d > 1000 {
		n.c.bad = true
		return
	}
	for (r-rest)%step != 0 {
		r = n.c.add(r, m)
	}
	n.step[i] = n.c.mul(m, step/d)
	if r %= n.step[i]; r < 0 {
		r += n.step[i]
	}
	n.rest[i] = r
}

// multiple notes that coef·root + constant is a multiple of modulus.
func (n *network) multiple(t Term, constant, modulus int64) {
	d := int64(gcd(size(t.Coef), uint64(modulus)))
	if constant%d != 0 {
		n.never = true
		return
	}
	k, c, m := t.Coef/d, constant/d, modulus/d
	if m > 1000 {
		n.c.bad = true
		return
	}
	k, c = (k%m+m)%m, (c%m+m)%m
	for r := range m {
		if (k*r+c)%m == 0 {
			n.congruent(t.Var, m, r)
			return
		}
	}
}

// equal notes that a form is zero.
func (n *network) equal(terms []Term, constant int64) {
	terms, constant = n.resolve(terms, constant)
	if len(terms) > 2 {
		// All but the last are one sum, so that a count stated is the sum it states.
		last := terms[len(terms)-1]
		terms, constant = n.sum(terms[:len(terms)-1], constant, 1)
		terms, constant = n.resolve(append(terms, last), constant)
	}
	if n.c.bad {
		return
	}
	if len(terms) == 2 && size(terms[0].Coef) == 1 && size(terms[1].Coef) == 1 {
		// ±a ± b + c = 0
		a, b := terms[0], terms[1]
		n.join(b.Var, alias{a.Var, -a.Coef * b.Coef, n.c.mul(-b.Coef, constant)})
		return
	}
	n.lines = append(n.lines, line{terms, constant, true})
}

// join notes that root i follows from another root.
func (n *network) join(i int, a alias) {
	n.alias[i] = a
	lo, hi := n.lo[i], n.hi[i]
	if lo > -unbounded {
		n.bound(Term{a.root, a.sign}, n.c.sub(a.offset, lo))
	}
	if hi < unbounded {
		n.bound(Term{a.root, -a.sign}, n.c.sub(hi, a.offset))
	}
	n.congruent(a.root, n.step[i], n.c.mul(a.sign, n.c.sub(n.rest[i], a.offset))%n.step[i])
}

// bound notes that coef·root + constant ≥ 0.
func (n *network) bound(t Term, constant int64) {
	if size(constant) >= uint64(unbounded) || size(t.Coef) >= uint64(unbounded) {
		n.c.bad = true
		return
	}
	if t.Coef > 0 {
		n.lo[t.Var] = max(n.lo[t.Var], ceilDiv(-constant, t.Coef))
	} else {
		n.hi[t.Var] = min(n.hi[t.Var], floorDiv(constant, -t.Coef))
	}
}

// atLeast notes that a form is at least zero.
func (n *network) atLeast(terms []Term, constant int64) {
	terms, constant = n.sum(terms, constant, 3)
	switch {
	case n.c.bad:
	case len(terms) == 0:
		n.never = n.never || constant < 0
	case len(terms) == 1:
		n.bound(terms[0], constant)
	default:
		n.lines = append(n.lines, line{terms, constant, false})
	}
}

// network is nil if the part does not lend itself to it.
func (pt *part) network() *network {
	free := len(pt.lo)
	for _, r := range pt.rules {
		if r.Kind == Equal {
			free--
		}
	}
	if len(pt.lo) > maxNumbers || free > MaxFree {
		return nil
	}
	most := 2 * len(pt.lo)
	m := pt.mem
	n := &network{pt: pt, mem: m, sums: m.sums, alias: m.aliases.take(most)[:0], lo: m.longs.take(most)[:0],
		hi: m.longs.take(most)[:0], step: m.longs.take(most)[:0], rest: m.longs.take(most)[:0],
		lines: m.lines.take(most)[:0], sights: m.sights.take(len(pt.forms))[:0]}
	clear(n.sums)
	for i, lo := range pt.lo {
		n.number(lo, pt.hi[i])
		if lo <= -unbounded || pt.hi[i] >= unbounded {
			return nil
		}
	}
	// Equalities come first, since they make numbers one; inequalities last, since they can do with sums that are there.
	for _, r := range pt.rules {
		if r.Kind == Multiple {
			ts := m.terms.take(len(r.Terms))[:0]
			for _, t := range r.Terms {
				if k := t.Coef % r.Modulus; k != 0 {
					ts = append(ts, Term{t.Var, k})
				}
			}
			if len(ts) == 0 {
				n.never = n.never || r.Const%r.Modulus != 0
			} else if len(ts) == 1 {
				ts, c := n.resolve(ts, r.Const%r.Modulus)
				n.multiple(ts[0], c, r.Modulus)
			}
		}
	}
	for _, r := range pt.rules {
		if r.Kind == Equal {
			n.equal(r.Terms, r.Const)
		}
	}
	for i := range pt.forms {
		f := &pt.forms[i]
		ts, c := n.sum(f.terms, f.constant, 1)
		s := sight{constant: c, form: f, number: -1}
		s.weight = f.weighs()
		if len(ts) == 1 {
			s.number, s.coef = ts[0].Var, ts[0].Coef
		}
		n.sights = append(n.sights, s)
	}
	for _, r := range pt.rules {
		switch r.Kind {
		case AtLeast:
			n.atLeast(r.Terms, r.Const)
		case Multiple:
			ts, c := n.resolve(r.Terms, r.Const)
			for i := range ts {
				ts[i].Coef %= r.Modulus
			}
			ts = slices.DeleteFunc(ts, func(t Term) bool { return t.Coef == 0 })
			if ts, c = n.sum(ts, c%r.Modulus, 1); len(ts) == 1 && !n.c.bad {
				n.multiple(ts[0], c, r.Modulus)
			} else if len(ts) == 0 {
				n.never = n.never || c%r.Modulus != 0
			}
		}
		if n.c.bad {
			return nil
		}
	}
	n.finish()
	if n.c.bad || len(n.alias) > maxNumbers {
		return nil
	}
	return n
}

// finish writes lines and sights in the roots that are left.
func (n *network) finish() {
	lines := n.lines
	n.lines = n.lines[:0]
	for _, l := range lines {
		l.terms, l.constant = n.resolve(l.terms, l.constant)
		switch {
		case n.c.bad:
			return
		case len(l.terms) == 0:
			n.never = n.never || l.constant < 0 || l.equal && l.constant != 0
			continue
		}
		n.lines = append(n.lines, l)
	}
	n.net = n.mem.net(len(n.alias), n.lines)
	for i := range n.sights {
		s := &n.sights[i]
		if s.number < 0 {
			continue
		}
		a := n.find(s.number)
		s.constant = n.c.add(s.constant, n.c.mul(s.coef, a.offset))
		s.number, s.coef = a.root, n.c.mul(s.coef, a.sign)
	}
	n.net.pushAll()
}

// inStep moves the ends of an interval to values in step and reports false if there are none.
func (n *network) inStep(i int, lo, hi []int64) bool {
	if m := n.step[i]; m > 1 {
		r := n.rest[i]
		if l := r + m*ceilDiv(lo[i]-r, m); l != lo[i] {
			lo[i] = l
			n.net.push(i)
		}
		if h := r + m*floorDiv(hi[i]-r, m); h != hi[i] {
			hi[i] = h
			n.net.push(i)
		}
	}
	return lo[i] <= hi[i]
}

// nearest sets the value in the interval that costs least.
func (n *network) nearest(s *sight, lo, hi []int64) {
	if s.number < 0 {
		s.least = s.price(0)
		return
	}
	l, h, m := lo[s.number], hi[s.number], n.step[s.number]
	k, c := s.coef, s.constant
	if k < 0 {
		k, c = -k, -c
	}
	v := floorDiv(-c, k)
	v = max(l, min(h, n.rest[s.number]+m*floorDiv(v-n.rest[s.number], m)))
	if v+m <= h && s.at(v+m) < s.at(v) {
		v += m
	}
	s.best, s.least = v, s.price(v)
}

// narrow narrows the intervals by lines and steps alone.
func (n *network) narrow(lo, hi []int64) bool {
	for again := true; again; again = len(n.net.queue) > 0 {
		if !n.net.narrow(lo, hi, 1000+200*len(n.lines)) {
			return false
		}
		for i := range lo {
			if n.alias[i].root == i && !n.inStep(i, lo, hi) {
				return false
			}
		}
	}
	return true
}

// within narrows the intervals to what sums up to limit allow and reports false if that is nothing.
func (n *network) within(limit price, lo, hi []int64) bool {
	for moved := true; moved; {
		if !n.narrow(lo, hi) {
			return false
		}
		least := price(0)
		for i := range n.sights {
			s := &n.sights[i]
			n.nearest(s, lo, hi)
			least += s.least
		}
		if least > limit {
			return false
		}
		moved = false
		for i := range n.sights {
			s := &n.sights[i]
			if s.number < 0 {
				continue
			}
			most, m := limit-least+s.least, n.step[s.number]
			if v := s.reach(hi[s.number], m, most); v < hi[s.number] {
				hi[s.number] = v
				n.net.push(s.number)
				moved = true
			}
			if v := s.reach(lo[s.number], -m, most); v > lo[s.number] {
				lo[s.number] = v
				n.net.push(s.number)
				moved = true
			}
		}
	}
	return true
}

// reach is the last value from the best one towards end, by the step way, that costs at most most: the square is the larger the
// farther from the best value.
func (s *sight) reach(end, way int64, most price) int64 {
	if s.price(end) <= most {
		return end
	}
	// Nearly always it is near.
	in, out := int64(0), int64(1)
	for last := (end - s.best) / way; out < last && s.price(s.best+out*way) <= most; {
		in, out = out, min(2*out, last)
	}
	for out-in > 1 {
		if mid := in + (out-in)/2; s.price(s.best+mid*way) <= most {
			in = mid
		} else {
			out = mid
		}
	}
	return s.best + in*way
}

// scale sets the unit of prices and returns what the scores cost at least, each for itself, and by how much more the first limit
// that is tried is: usually the best sum is little more.
func (n *network) scale() (least, more price, ok bool) {
	sum, step := 0.0, math.Inf(1)
	for i := range n.sights {
		s := &n.sights[i]
		if s.number < 0 {
			sum += s.at(0)
			continue
		}
		n.nearest(s, n.lo, n.hi)
		sum += s.at(s.best)
		k := float64(s.coef)
		step = min(step, float64(s.weight*float64(k*k)))
	}
	if len(n.sights) == 0 {
		return 0, 0, true
	}
	if step = min(step, 1e300); !(sum < 1e300) || !(step > 1e-300) {
		return 0, 0, false
	}
	over := sum/6 + step/2
	const bits = 40
	_, e := math.Frexp(sum + over)
	for i := range n.sights {
		s := &n.sights[i]
		s.weight = math.Ldexp(s.weight, bits-e)
	}
	return price(math.Ldexp(sum, bits-e)), price(math.Ldexp(over, bits-e)), true
}

// eliminated is the answer of the part by elimination, or nil where another way must be taken.
func (pt *part) eliminated(budget int) *finding {
	n := pt.network()
	if n == nil {
		return nil
	}
	if n.never || !n.narrow(n.lo, n.hi) {
		return &finding{state: none}
	}
	start, more, ok := n.scale()
	if !ok {
		return nil
	}
	budget = min(budget, maxTabled)
	nodes := 0
	sure := false // there is something not above the limit
	// Often every score can have what is best for it, which leaves next to nothing to try.
	for limit := start + 2*price(margin*len(n.sights)); limit < far; {
		lo, hi := n.mem.clone(n.lo), n.mem.clone(n.hi)
		if !n.within(limit, lo, hi) {
			limit, more = start+more, more+more/2
			continue
		}
		t := n.tables(lo, hi, budget-nodes)
		if t == nil {
			return nil
		}
		least, some := t.run()
		nodes += t.work
		if t.c.bad {
			return nil
		}
		if !some {
			limit, more = start+more, more+more/2
			continue
		}
		above := least + price(margin*len(n.sights))
		if above > limit && !sure {
			limit, sure = above, true
			continue
		}
		x := t.answer()
		if !pt.holds(x) {
			return nil
		}
		sum := cost{pt.sum(x), pt.unit}
		for i, v := range pt.from {
			x[i] += v
		}
		return &finding{x: x, nodes: nodes, proven: true, sum: sum, bound: sum}
	}
	return nil
}

// sum is that of the scores, in units of the part.
func (pt *part) sum(x []int64) total {
	var sum total
	for i := range pt.forms {
		f := &pt.forms[i]
		var c checked
		v := f.constant
		for _, t := range f.terms {
			v = c.add(v, c.mul(t.Coef, x[t.Var]))
		}
		if !c.bad {
			sum.add(f, 1, v, 0)
			continue
		}
		b := bigLinear(f.terms, f.constant, x)
		b.Mul(b, b)
		b.Mul(b, f.heavy())
		sum = total{big: b.Add(b, sum.toBig())}
	}
	return sum
}

// holds checks values against every box and rule.
func (pt *part) holds(x []int64) bool {
	for i, v := range x {
		if v < pt.lo[i] || v > pt.hi[i] {
			return false
		}
	}
	for i := range pt.rules {
		r := &pt.rules[i]
		if !holds(r.Kind, r.Terms, r.Const, r.Modulus, x) {
			return false
		}
	}
	return true
}
