package whole

import (
	"math/bits"
	"slices"
)

// numbers is a set of them.
type numbers [maxNumbers / 64]uint64

func (s *numbers) add(i int)      { s[i/64] |= 1 << (i % 64) }
func (s *numbers) remove(i int)   { s[i/64] &^= 1 << (i % 64) }
func (s *numbers) has(i int) bool { return s[i/64]>>(i%64)&1 != 0 }

func (s *numbers) size() (n int) {
	for _, b := range s {
		n += bits.OnesCount64(b)
	}
	return n
}

func (s *numbers) each(do func(i int)) {
	for w, b := range s {
		for ; b != 0; b &= b - 1 {
			do(w*64 + bits.TrailingZeros64(b))
		}
	}
}

// tables eliminates the numbers of a network whose intervals are lo to hi.
type tables struct {
	*network
	lo    []int64
	count []int     // of the values of each number; 1 for those that are not roots
	own   [][]price // of each value
	order []int
	scope []numbers // of each number: those its table depends on
	lines []line    // with fixed numbers put in
	work  int       // values tried
	most  int       // that may be tried

	made   []table    // of each number eliminated
	taken  []int32    // of each number: the first table it is in the scope of when it is eliminated, and table.next; end where there is none
	sides  [2][]int32 // two choices to compare
	touch  []int
	weight []int64 // of the rows of the tie-break
	// Of each number: the sights it has, the unknowns that follow from it. Of each unknown: where it stands in the tie-break.
	seen, follow, stand listed
	spot                []spot
	slack               price    // by how much prices may be wrong
	cost                [2]total // of what differs between them
}

// spot is where an unknown stands in the tie-break.
type spot struct {
	row  int
	coef int64
}

// table holds, for every choice of the numbers in scope, the least price and the value chosen for the number eliminated.
type table struct {
	number int
	scope  []int
	stride []int
	price  []price
	pick   []int32
	next   int32
}

// tables is nil if it takes more than most values to try.
func (n *network) tables(lo, hi []int64, most int) *tables {
	t := &tables{network: n, lo: lo, count: n.mem.ints.take(len(lo)), scope: n.mem.sets.take(len(lo)), order: n.mem.ints.take(len(lo))[:0],
		slack: price(margin * len(n.sights)), most: most}
	open := 0
	for i := range lo {
		t.count[i] = 1
		if n.alias[i].root == i && lo[i] < hi[i] {
			c := (hi[i] - lo[i]) / n.step[i]
			if c >= int64(most) {
				return nil
			}
			t.count[i] = int(c) + 1
		}
		if t.count[i] > 1 {
			open++
		}
	}
	var follows numbers // from those in scope
	for _, l := range n.lines {
		for _, a := range l.terms {
			if l.equal {
				follows.add(a.Var)
			}
			for _, b := range l.terms {
				if a.Var != b.Var && t.count[a.Var] > 1 && t.count[b.Var] > 1 {
					t.scope[a.Var].add(b.Var)
				}
			}
		}
	}
	// Always that number next whose table takes least.
	cost := n.mem.ints.take(len(lo))
	weigh := func(i int) {
		c := t.count[i]
		if follows.has(i) {
			c = 1
		}
		t.scope[i].each(func(k int) {
			if c <= most {
				c *= t.count[k]
			}
		})
		cost[i] = c
	}
	for i, c := range t.count {
		if c > 1 {
			weigh(i)
		}
	}
	for range open {
		best := -1
		for i, c := range cost {
			if c > 0 && (best < 0 || c < cost[best]) {
				best = i
			}
		}
		if t.work += cost[best]; t.work > most {
			return nil
		}
		cost[best] = 0
		t.order = append(t.order, best)
		s := t.scope[best]
		s.each(func(i int) {
			for w := range s {
				t.scope[i][w] |= s[w]
			}
			t.scope[i].remove(i)
			t.scope[i].remove(best)
		})
		s.each(weigh)
	}
	return t
}

// end is where a chain of tables ends.
const end = -1

// value is that of the choice c of a number.
func (t *tables) value(i int, c int32) int64 { return t.lo[i] + t.step[i]*int64(c) }

// run fills all tables and returns the least price, if there is any choice at all.
func (t *tables) run() (price, bool) {
	t.work = 0
	t.made, t.taken = t.mem.tables.take(len(t.lo)), t.mem.picks.take(len(t.lo))
	for i := range t.taken {
		t.taken[i] = end
	}
	t.own = t.mem.owned.take(len(t.lo))
	all := price(0)
	for _, i := range t.order {
		t.own[i] = t.mem.prices.take(t.count[i])
	}
	for k := range t.sights {
		s := &t.sights[k]
		switch {
		case s.number < 0:
			all += s.price(0)
		case t.count[s.number] == 1:
			all += s.price(t.lo[s.number])
		default:
			own := t.own[s.number]
			for c := range own {
				own[c] += s.price(t.value(s.number, int32(c)))
			}
		}
	}
	t.lines = t.mem.lines.take(len(t.network.lines))[:0]
	for _, l := range t.network.lines {
		// Nothing that follows can leave 64 bits.
		reach := l.constant
		var c checked
		fixed := line{constant: l.constant, equal: l.equal, terms: t.mem.terms.take(len(l.terms))[:0]}
		for _, m := range l.terms {
			far := max(size(t.lo[m.Var]), size(t.value(m.Var, int32(t.count[m.Var]-1))))
			reach = c.add(c.mul(int64(size(m.Coef)), int64(far)), int64(size(reach)))
			if t.count[m.Var] == 1 {
				fixed.constant += m.Coef * t.lo[m.Var]
			} else {
				fixed.terms = append(fixed.terms, m)
			}
		}
		if t.c.bad = c.bad || reach < 0 || reach >= unbounded; t.c.bad {
			return all, false
		}
		if len(fixed.terms) > 0 {
			t.lines = append(t.lines, fixed)
		} else if fixed.constant < 0 || fixed.equal && fixed.constant != 0 {
			return all, false
		}
	}
	live := t.mem.ints.take(len(t.order))[:0] // numbers whose tables are not used up yet
	m := &maker{tables: t, lines: t.mem.strands.take(len(t.lines))[:0], taken: t.mem.strips.take(len(t.order))[:0]}
	for _, i := range t.order {
		keep := live[:0]
		last := &t.taken[i]
		for _, n := range live {
			u := &t.made[n]
			if slices.Contains(u.scope, i) {
				*last, last = int32(n), &u.next
			} else {
				keep = append(keep, n)
			}
		}
		live = keep
		u := &t.made[i]
		if !m.make(u, i) || t.c.bad {
			return all, false
		}
		if len(u.scope) == 0 {
			all += u.price[0]
		} else {
			live = append(live, i)
		}
	}
	return all, true
}

// maker makes one table after the other.
type maker struct {
	*tables
	number int
	out    *table
	choice []int32 // of the numbers in scope
	lines  []strand
	taken  []strip
}

// strand is a line that the number stands in: what it comes to without the number, for the choice, and by how much the next choice
// of a number in scope moves it.
type strand struct {
	coef, rest int64
	equal      bool
	moves      []int64
}

// strip is a table that the number is in scope of: the place in it for the choice, and by how much the next choice moves it.
type strip struct {
	price      []price
	at, stride int
	moves      []int
}

func (m *maker) make(u *table, i int) bool {
	u.number, u.next, m.number, m.out = i, end, i, u
	size := 1
	u.scope = m.mem.ints.take(m.scope[i].size())[:0]
	m.scope[i].each(func(k int) { u.scope = append(u.scope, k) })
	u.stride = m.mem.ints.take(len(u.scope))
	for k, s := range u.scope {
		u.stride[k] = size
		size *= m.count[s]
	}
	u.price, u.pick = m.mem.prices.take(size), m.mem.picks.take(size)
	m.choice = m.mem.picks.take(len(u.scope))
	m.lines = m.lines[:0]
	keep := m.tables.lines[:0]
	for _, l := range m.tables.lines {
		at := slices.IndexFunc(l.terms, func(t Term) bool { return t.Var == i })
		if at < 0 {
			keep = append(keep, l)
			continue
		}
		s := strand{rest: l.constant, equal: l.equal, moves: m.mem.longs.take(len(u.scope))}
		for _, t := range l.terms {
			if t.Var == i {
				s.coef = t.Coef * m.step[i]
			} else {
				s.moves[slices.Index(u.scope, t.Var)] = t.Coef * m.step[t.Var]
			}
			s.rest += t.Coef * m.lo[t.Var]
		}
		m.lines = append(m.lines, s)
	}
	m.tables.lines = keep
	m.taken = m.taken[:0]
	for next := m.tables.taken[i]; next != end; next = m.made[next].next {
		taken := &m.made[next]
		s := strip{price: taken.price, moves: m.mem.ints.take(len(u.scope))}
		for k, n := range taken.scope {
			if n == i {
				s.stride = taken.stride[k]
			} else {
				s.moves[slices.Index(u.scope, n)] = taken.stride[k]
			}
		}
		m.taken = append(m.taken, s)
	}
	some := false
	for e := range u.price {
		u.price[e] = dear
		some = m.fill(e) || some
		if m.c.bad {
			return false
		}
		m.next()
	}
	return some
}

// next goes on to the next choice of the numbers in scope.
func (m *maker) next() {
	for k, s := range m.out.scope {
		by := int32(1)
		if int(m.choice[k])+1 == m.count[s] {
			by = -m.choice[k]
		}
		m.choice[k] += by
		for l := range m.lines {
			m.lines[l].rest += m.lines[l].moves[k] * int64(by)
		}
		for t := range m.taken {
			m.taken[t].at += m.taken[t].moves[k] * int(by)
		}
		if by > 0 {
			return
		}
	}
}

// fill finds the best value for one choice of the numbers in scope.
func (m *maker) fill(e int) bool {
	i, u := m.number, m.out
	from, to := int64(0), int64(m.count[i]-1)
	for l := range m.lines {
		k, r := m.lines[l].coef, m.lines[l].rest // k·c + r = 0 or ≥ 0
		switch {
		case m.lines[l].equal:
			if r%k != 0 {
				return false
			}
			from, to = max(from, -r/k), min(to, -r/k)
		case k > 0:
			from = max(from, ceilDiv(-r, k))
		default:
			to = min(to, floorDiv(r, -k))
		}
	}
	own := m.own[i]
	some := false
	for c := from; c <= to; c++ {
		if m.work++; m.work > m.most {
			m.c.bad = true
			return false
		}
		p := own[c]
		for t := range m.taken {
			s := &m.taken[t]
			p += s.price[s.at+int(c)*s.stride]
		}
		if p >= dear || some && (p > u.price[e]+m.slack || p+m.slack >= u.price[e] && !m.preferred(int32(c), u.pick[e])) {
			continue
		}
		u.price[e], u.pick[e], some = p, int32(c), true
	}
	return some
}

// choose follows the tables down from a number whose choice, and that of all in its scope, is made.
func (t *tables) choose(i int, side []int32, do func(i int)) {
	do(i)
	for next := t.taken[i]; next != end; next = t.made[next].next {
		u := &t.made[next]
		at := 0
		for k, s := range u.scope {
			at += int(side[s]) * u.stride[k]
		}
		side[u.number] = u.pick[at]
		t.choose(u.number, side, do)
	}
}

// preferred reports whether value c of the number is better than value d, exactly, and with the tie-break. What is not below the number in
// the tables is the same for both, and so counts for nothing: sums and tie-break go by differences.
func (m *maker) preferred(c, d int32) bool {
	t := m.tables
	if t.weight == nil {
		t.compare()
	}
	a, b := t.sides[0], t.sides[1]
	for k, s := range m.out.scope {
		a[s], b[s] = m.choice[k], m.choice[k]
	}
	a[m.number], b[m.number] = c, d
	t.choose(m.number, a, func(int) {})
	first, larger := -1, false // of the unknowns that differ
	t.touch = t.touch[:0]
	t.cost = [2]total{}
	t.choose(m.number, b, func(i int) {
		if a[i] == b[i] {
			return
		}
		t.weighUp(i, a[i], b[i])
		for _, unknown := range t.follow.of(i) {
			x := int(unknown)
			s := t.alias[x]
			va, vb := s.sign*t.value(i, a[i])+s.offset, s.sign*t.value(i, b[i])+s.offset
			if first < 0 || x < first {
				first = x
				da, db := apart(va, t.pt.hint[x]), apart(vb, t.pt.hint[x])
				larger = da < db || da == db && va > vb
			}
			for _, k := range t.stand.of(x) {
				p := t.spot[k]
				if !slices.Contains(t.touch, p.row) {
					t.touch = append(t.touch, p.row)
					t.weight[p.row] = 0
				}
				t.weight[p.row] = t.c.add(t.weight[p.row], t.c.mul(p.coef, t.c.sub(va, vb)))
			}
		}
	})
	if order := t.cost[0].cmp(t.cost[1]); order != 0 {
		return order < 0
	}
	row := -1
	for _, r := range t.touch {
		if t.weight[r] != 0 && (row < 0 || r < row) {
			row = r
		}
	}
	if row >= 0 {
		return t.weight[row] > 0
	}
	return larger
}

// weighUp adds what choices a and b of the number cost, exactly.
func (t *tables) weighUp(i int, a, b int32) {
	for _, k := range t.seen.of(i) {
		s := &t.sights[k]
		for side, c := range [2]int32{a, b} {
			t.cost[side].add(s.form, s.coef, t.value(i, c), s.constant)
		}
	}
}

// compare gets ready to compare.
func (t *tables) compare() {
	t.sides = [2][]int32{t.mem.picks.take(len(t.lo)), t.mem.picks.take(len(t.lo))}
	t.weight, t.touch = t.mem.longs.take(len(t.pt.better)), t.mem.ints.take(len(t.pt.better))[:0]
	// Chains of aliases are followed once and for all.
	for x := range t.pt.lo {
		t.alias[x] = t.find(x)
	}
	t.seen = t.mem.listBy(len(t.lo), len(t.sights), func(k int) int { return t.sights[k].number })
	t.follow = t.mem.listBy(len(t.lo), len(t.pt.lo), func(x int) int { return t.alias[x].root })
	n := 0
	for _, b := range t.pt.better {
		n += len(b)
	}
	t.spot = t.mem.spots.take(n)[:0]
	who := t.mem.ints.take(n)[:0]
	for r, b := range t.pt.better {
		for _, m := range b {
			t.spot, who = append(t.spot, spot{r, m.Coef}), append(who, m.Var)
		}
	}
	t.stand = t.mem.listBy(len(t.pt.lo), n, func(k int) int { return who[k] })
}

// listed is things by the number they belong to.
type listed struct{ start, things []int32 }

func (l *listed) of(i int) []int32 { return l.things[l.start[i]:l.start[i+1]] }

// listBy lists things, which are numbered, by the number from 0 up that each belongs to, in their order. Those of a negative
// number are left out.
func (m *memory) listBy(numbers, things int, number func(thing int) int) listed {
	l := listed{start: m.picks.take(numbers + 2)}
	for k := range things {
		if i := number(k); i >= 0 {
			l.start[i+2]++
		}
	}
	for i := range numbers {
		l.start[i+2] += l.start[i+1]
	}
	l.things = m.picks.take(int(l.start[numbers+1]))
	for k := range things {
		if i := number(k); i >= 0 {
			l.things[l.start[i+1]] = int32(k)
			l.start[i+1]++
		}
	}
	return l
}

// answer is the best value of each unknown.
func (t *tables) answer() []int64 {
	side := t.mem.picks.take(len(t.lo))
	for _, i := range t.order {
		if u := &t.made[i]; len(u.scope) == 0 {
			side[i] = u.pick[0]
			t.choose(i, side, func(int) {})
		}
	}
	x := t.mem.longs.take(len(t.pt.lo))
	for i := range x {
		a := t.find(i)
		x[i] = a.sign*t.value(a.root, side[a.root]) + a.offset
	}
	return x
}
