package whole

import "math/bits"

// unbounded and beyond stand for bounds that are not known: no computation relies on them.
const unbounded = int64(1) << 61

// net is a set of rows Σ coef·v + constant = 0 or ≥ 0 over numbered unknowns, made for narrowing intervals: every row bounds each
// of its unknowns by what the others can at most contribute. Narrowing is sound whatever the size of the numbers: contributions
// too large to be summed count as unknown.
type net struct {
	start    []int32 // of each row in vars and coefs
	vars     []int32
	coefs    []int64
	constant []int64
	equal    []bool

	of     [][]int32 // rows of each unknown
	queue  []int32
	queued []bool
}

func newNet(unknowns int) *net {
	return &net{start: []int32{0}, of: make([][]int32, unknowns)}
}

// net is the net of these lines.
func (m *memory) net(unknowns int, lines []line) *net {
	terms := 0
	count := m.ints.take(unknowns)
	for _, l := range lines {
		terms += len(l.terms)
		for _, t := range l.terms {
			count[t.Var]++
		}
	}
	rows := len(lines)
	n := &net{start: m.picks.take(rows + 1)[:1], vars: m.picks.take(terms)[:0], coefs: m.longs.take(terms)[:0], constant: m.longs.take(rows)[:0],
		equal: m.flags.take(rows)[:0], of: m.rowsOf.take(unknowns), queue: m.picks.take(rows)[:0], queued: m.flags.take(rows)[:0]}
	for i, c := range count {
		n.of[i] = m.picks.take(c)[:0]
	}
	for _, l := range lines {
		n.add(l.terms, l.constant, l.equal)
	}
	return n
}

func (n *net) grow(unknowns int) {
	for len(n.of) < unknowns {
		n.of = append(n.of, nil)
	}
}

func (n *net) add(terms []Term, constant int64, equal bool) {
	row := int32(len(n.constant))
	for _, t := range terms {
		n.vars = append(n.vars, int32(t.Var))
		n.coefs = append(n.coefs, t.Coef)
		n.of[t.Var] = append(n.of[t.Var], row)
	}
	n.start = append(n.start, int32(len(n.vars)))
	n.constant = append(n.constant, constant)
	n.equal = append(n.equal, equal)
	n.queued = append(n.queued, false)
}

func (n *net) push(v int) {
	for _, r := range n.of[v] {
		if !n.queued[r] {
			n.queued[r] = true
			n.queue = append(n.queue, r)
		}
	}
}

func (n *net) pushAll() {
	for r := range n.constant {
		if !n.queued[r] {
			n.queued[r] = true
			n.queue = append(n.queue, int32(r))
		}
	}
}

// narrow works off the queue and reports false if an interval became empty. It stops, still sound, after limit rows.
func (n *net) narrow(lo, hi []int64, limit int) bool {
	ok := true
	head := 0
	for ; head < len(n.queue); head++ {
		r := n.queue[head]
		n.queued[r] = false
		if limit--; limit < 0 || !n.row(int(r), lo, hi) {
			ok = limit < 0
			head++
			break
		}
	}
	for ; head < len(n.queue); head++ {
		n.queued[n.queue[head]] = false
	}
	n.queue = n.queue[:0]
	return ok
}

func (n *net) row(r int, lo, hi []int64) bool {
	a, b := n.start[r], n.start[r+1]
	vars, coefs := n.vars[a:b], n.coefs[a:b]
	// With every contribution below limit no sum leaves 64 bits.
	limit := unbounded / int64(len(vars)+2)
	c := n.constant[r]
	if size(c) > uint64(limit) {
		return true
	}
	for _, k := range coefs {
		if size(k) >= uint64(unbounded) {
			return true
		}
	}
	if !n.atLeast(vars, coefs, c, 1, limit, lo, hi) {
		return false
	}
	return !n.equal[r] || n.atLeast(vars, coefs, -c, -1, limit, lo, hi)
}

// most is the largest contribution of coef·v, and whether it is known.
func most(coef, lo, hi, limit int64) (int64, bool) {
	v := hi
	if coef < 0 {
		v = lo
	}
	if size(v) >= uint64(unbounded) {
		return 0, false
	}
	h, l := bits.Mul64(size(coef), size(v))
	if h != 0 || l > uint64(limit) {
		return 0, false
	}
	return coef * v, true
}

// atLeast narrows by Σ sign·coef·v + c ≥ 0.
func (n *net) atLeast(vars []int32, coefs []int64, c, sign, limit int64, lo, hi []int64) bool {
	sum, unknown, last := c, 0, -1
	for i, v := range vars {
		m, ok := most(sign*coefs[i], lo[v], hi[v], limit)
		if !ok {
			if unknown++; unknown > 1 {
				return true
			}
			last = i
			continue
		}
		sum += m
	}
	if unknown == 0 && sum < 0 {
		return false
	}
	for i, v := range vars {
		if unknown == 1 && i != last {
			continue
		}
		k := sign * coefs[i]
		rest := sum
		if unknown == 0 {
			m, _ := most(k, lo[v], hi[v], limit)
			rest -= m
		}
		// k·v ≥ −rest
		if k > 0 {
			if b := ceilDiv(-rest, k); b > lo[v] {
				lo[v] = b
				n.push(int(v))
			}
		} else if b := floorDiv(rest, -k); b < hi[v] {
			hi[v] = b
			n.push(int(v))
		}
		if lo[v] > hi[v] {
			return false
		}
	}
	return true
}
