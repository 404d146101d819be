package rewrite

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// stretch is n times every a rows: one clause of a sentence in one size.
type stretch struct{ every, times int64 }

// plan is what the clauses of one straight edge must say, one list of at most two stretches a target.
type plan struct {
	clauses []int // the drafted clauses it was written in
	of      [][]stretch
	still   []bool // a target has its drafted times and rows: a stretch for each drafted clause, those of no times included
	now     []bool // a target shapes once more, on the next row: counted in the first clause that it has
}

func (p *plan) empty() bool {
	for t, of := range p.of {
		for _, s := range of {
			if s.times > 0 || p.now[t] {
				return false
			}
		}
	}
	return true
}

// shortened is the plan with nothing but what is worked: for a sentence whose clauses are written anew.
func (p *plan) shortened() *plan {
	out := *p
	out.of = make([][]stretch, len(p.of))
	for t, of := range p.of {
		for _, s := range of {
			n := len(out.of[t])
			switch {
			case s.times == 0 && !p.now[t]:
			case n > 0 && out.of[t][n-1].every == s.every:
				out.of[t][n-1].times += s.times
			default:
				out.of[t] = append(out.of[t], s)
			}
		}
	}
	return &out
}

// scheduleAt is the schedule of a mark in one target's run.
func (w *writer) scheduleAt(t, mark int) *dsl.Schedule {
	return w.c.solved[t].index.schedule[mark]
}

// stretches is how a segment is spread over its rows in target t: at most two intervals, a step apart, in the drafted
// order. The first row of `next row and every following` is not among them.
func (w *writer) stretches(t int, s *dsl.Schedule, g *dsl.Segment) []stretch {
	if g.Const {
		return nil
	}
	if w.still(t, g.N, g.R) {
		return w.draftedStretches(t, s, g)
	}
	n, r := w.value(g.N, t), g.RowsAt(w.at(t))
	first := s.Clauses[w.firstPresent(t, s, g)].Kind == grammar.NextAnd
	m, d := n, r
	if g.Next {
		m, d = n-1, r-1
	}
	every, quick, slow, by := dsl.Spread(m, d, g.Step)
	var out []stretch
	if quick > 0 {
		out = append(out, stretch{every, quick})
	}
	if slow > 0 {
		out = append(out, stretch{every + by, slow})
	}
	if len(out) == 2 && !dsl.QuickFirst(w.d, s, w.c.Targets[t].Base()) {
		out[0], out[1] = out[1], out[0]
	}
	if g.Next && !first && len(out) == 0 {
		out = []stretch{{w.d.Interval(s.Clauses[w.firstPresent(t, s, g)], w.c.Targets[t].Base()), 0}}
	}
	return out
}

// startsNow says whether a segment counts, among the times of its clauses, one on the very next row: `starting on the next
// row` does, `on the next row and every following` says it in words of its own.
func (w *writer) startsNow(t int, s *dsl.Schedule, g *dsl.Segment) bool {
	return g.Next && !g.Const && s.Clauses[w.firstPresent(t, s, g)].Kind != grammar.NextAnd && !w.still(t, g.N, g.R)
}

// still says whether quantities have their drafted values in target t, which is a drafted size.
func (w *writer) still(t int, qs ...int) bool {
	if w.moved(t) {
		return false
	}
	for _, q := range qs {
		if q >= 0 && w.value(q, t) != w.d.Quantities[q].Drafted[w.c.Targets[t].Base()] {
			return false
		}
	}
	return true
}

// draftedStretches is what the clauses of a segment say in the draft: where nothing has changed they stay as they are,
// however they were spread.
func (w *writer) draftedStretches(t int, s *dsl.Schedule, g *dsl.Segment) []stretch {
	var out []stretch
	for _, i := range g.Clauses {
		c := s.Clauses[i]
		n := int64(0)
		if q, ok := w.d.Of(c.Times); ok {
			n = q.Drafted[w.c.Targets[t].Base()]
		} else if written(c.Times) || c.Times != nil {
			n = 1
		} else {
			// left to `until`: what the other clauses do not do
			n = w.value(g.N, t)
			for _, j := range g.Clauses {
				if q, ok := w.d.Of(s.Clauses[j].Times); ok {
					n -= q.Drafted[w.c.Targets[t].Base()]
				}
			}
			if s.Clauses[g.Clauses[0]].Kind == grammar.NextAnd {
				n--
			}
		}
		out = append(out, stretch{w.intervalAt(c, t), n})
	}
	return out
}

// firstPresent is the first clause of a segment that occurs in the target's size.
func (w *writer) firstPresent(t int, s *dsl.Schedule, g *dsl.Segment) int {
	for _, i := range g.Clauses {
		q, ok := w.d.Of(s.Clauses[i].Times)
		if !ok || q.Drafted[w.c.Targets[t].Base()] > 0 || s.Clauses[i].Kind == grammar.NextAnd {
			return i
		}
	}
	return g.Clauses[0]
}

// plans gathers the stretches of every straight edge over all targets.
func (w *writer) plans(mark int, cs []*grammar.Clause) []plan {
	// A schedule is straight in every size or in none, so its edges group the clauses alike; an absent edge has no segment.
	var out []plan
	whole := false
	for t := range w.c.Targets {
		if s := w.scheduleAt(t, mark); s != nil {
			for _, g := range s.Segments {
				whole = whole || len(g.Clauses) == len(cs)
			}
		}
	}
	if whole {
		p := plan{of: make([][]stretch, w.n()), still: make([]bool, w.n()), now: make([]bool, w.n())}
		for i := range cs {
			p.clauses = append(p.clauses, i)
		}
		out = append(out, p)
	} else {
		for i := range cs {
			out = append(out, plan{clauses: []int{i}, of: make([][]stretch, w.n()), still: make([]bool, w.n()), now: make([]bool, w.n())})
		}
	}
	for t := range w.c.Targets {
		s := w.scheduleAt(t, mark)
		if s == nil {
			continue
		}
		for _, g := range s.Segments {
			for k := range out {
				if out[k].clauses[0] == g.Clauses[0] {
					out[k].of[t] = w.stretches(t, s, g)
					out[k].now[t] = w.startsNow(t, s, g)
					out[k].still[t] = !g.Const && w.still(t, g.N, g.R)
				}
			}
		}
	}
	return out
}

// schedule writes a schedule back: only its digits where the sentence still fits, else its clauses anew in the author's own
// spelling.
func (w *writer) schedule(mark int, cs []*grammar.Clause, list grammar.Span) {
	if len(cs) == 0 || len(cs) == 1 && cs[0].Kind == grammar.OneRow || !w.fresh && w.scheduleStill(mark) {
		return
	}
	plans := w.plans(mark, cs)
	fits := true
	var needed []plan
	for k := range plans {
		fits = fits && w.fits(cs, &plans[k])
		if !plans[k].empty() {
			needed = append(needed, plans[k])
		}
	}
	if w.fresh && len(needed) > 0 && len(needed) < len(plans) {
		fits = false // clauses that only other sizes had go
	}
	if fits {
		for k := range plans {
			w.digits(mark, cs, &plans[k])
		}
		return
	}
	var lines []line
	for k := range plans {
		if w.fresh && len(needed) > 0 && plans[k].empty() {
			continue
		}
		for _, l := range w.lines(cs, plans[k].shortened()) {
			// Two edges that came to the same interval are said in one clause.
			if n := len(lines); n > 0 && !lines[n-1].open && slices.Equal(lines[n-1].every, l.every) && cs[l.clause].Kind != grammar.NextAnd {
				for t := range l.times {
					lines[n-1].times[t] += l.times[t]
				}
				lines[n-1].open = l.open
				continue
			}
			lines = append(lines, l)
		}
	}
	if plain := w.byInterval(cs, lines); plain != nil {
		lines = plain
	}
	var texts []string
	for _, l := range lines {
		texts = append(texts, w.clause(cs, l))
	}
	joiner := ", then "
	if len(cs) > 1 && cs[0].Span.End <= cs[1].Span.Start {
		joiner = w.d.File.Text(grammar.Span{Start: cs[0].Span.End, End: cs[1].Span.Start})
		if strings.Contains(joiner, "\n") {
			joiner = ", then "
		}
	}
	for k := range plans {
		for t := range w.c.Targets {
			w.report(cs, plans[k].shortened(), t)
		}
	}
	first, last := cs[0].Span.Start, cs[len(cs)-1].Span.End
	if list.End > list.Start {
		first, last = min(first, list.Start), max(last, list.End)
	}
	w.put(mark, grammar.Span{Start: first, End: last}, strings.Join(texts, joiner), w.quantityOf(cs[0].Times))
	w.rewritten[mark] = true
}

// scheduleStill says whether a schedule has its drafted times and rows in every target.
func (w *writer) scheduleStill(mark int) bool {
	for t := range w.c.Targets {
		s := w.scheduleAt(t, mark)
		if s == nil {
			continue
		}
		for _, g := range s.Segments {
			if !w.still(t, g.N, g.R) {
				return false
			}
		}
	}
	return true
}

func (w *writer) quantityOf(v *grammar.Value) int {
	if q, ok := w.d.Of(v); ok {
		return q.ID
	}
	return -1
}

// intervalAt is the interval clause i says in target t, as drafted.
func (w *writer) intervalAt(c *grammar.Clause, t int) int64 {
	return w.d.Interval(c, w.c.Targets[t].Base())
}

func written(v *grammar.Value) bool { return v != nil && v.NumSpan.End > v.NumSpan.Start }

// assign puts the stretches of a target on the drafted clauses of the same interval, in order; nil where they do not fit.
func (w *writer) assign(cs []*grammar.Clause, p *plan, t int) []int64 {
	out := make([]int64, len(p.clauses))
	if p.still[t] {
		for j := range out {
			out[j] = p.of[t][j].times
		}
		return out
	}
	k := 0
	for j, i := range p.clauses {
		if k < len(p.of[t]) && w.intervalAt(cs[i], t) == p.of[t][k].every {
			out[j] = p.of[t][k].times
			k++
		}
	}
	if k < len(p.of[t]) {
		return nil
	}
	if p.now[t] {
		first := 0
		for j := range out {
			if out[j] > 0 {
				first = j
				break
			}
		}
		out[first]++
	}
	return out
}

// fits says whether the drafted clauses can say what is needed with other digits.
func (w *writer) fits(cs []*grammar.Clause, p *plan) bool {
	used := make([]bool, len(p.clauses))
	was := make([]bool, len(p.clauses))
	for t := range w.c.Targets {
		n := w.assign(cs, p, t)
		if n == nil {
			return false
		}
		for j, i := range p.clauses {
			used[j] = used[j] || n[j] > 0
			q, ok := w.d.Of(cs[i].Times)
			was[j] = was[j] || !ok || q.Drafted[w.c.Targets[t].Base()] > 0
			if !written(cs[i].Times) {
				// Times that are not written are one, or left to `until`.
				if cs[i].Times != nil && n[j] != 1 || cs[i].Times == nil && n[j] == 0 {
					return false
				}
			}
		}
	}
	for j := range used {
		// A clause that no size needs any more goes.
		if (was[j] || w.fresh) && !used[j] && len(p.clauses) > 1 {
			return false
		}
	}
	return true
}

func (w *writer) digits(mark int, cs []*grammar.Clause, p *plan) {
	for j, i := range p.clauses {
		c := cs[i]
		x := make([]*big.Rat, w.n())
		for t := range x {
			x[t] = rat(w.assign(cs, p, t)[j])
		}
		w.record(c.Times, x)
		if written(c.Times) {
			w.putTimes(mark, c.Times, c.TimesSpan, x)
			if c.CountFirst {
				w.rowsWord(mark, c, x)
			}
		}
		if written(c.Every) && w.fresh {
			y := make([]*big.Rat, w.n())
			for t := range y {
				y[t] = rat(w.intervalAt(c, t))
			}
			w.putValue(mark, c.Every, y, w.quantityOf(c.Every))
		}
	}
}

// putTimes edits how often: `6 times`, and `once` and `twice`, where the number and its word are one.
func (w *writer) putTimes(mark int, v *grammar.Value, span grammar.Span, x []*big.Rat) {
	changed := false
	n := make([]int64, len(x))
	for t := range x {
		n[t] = x[t].Num().Int64()
		changed = changed || !same(v.Nums[min(w.index(mark, v, t), len(v.Nums)-1)].Val, x[t])
	}
	switch strings.ToLower(w.d.File.Text(v.NumSpan)) {
	case "once", "twice", "thrice":
		if changed {
			w.put(mark, v.NumSpan, w.times(nil, n), w.quantityOf(v))
		}
		return
	}
	w.putValue(mark, v, x, w.quantityOf(v))
	if changed || w.fresh && len(v.Nums) > 1 {
		w.timesWord(mark, v, span, x)
	}
}

// rowsWord makes `on the next 1 rows` read `on the next 1 row`.
func (w *writer) rowsWord(mark int, c *grammar.Clause, x []*big.Rat) {
	one := big.NewRat(1, 1)
	for t := range x {
		if x[t].Cmp(one) != 0 {
			return
		}
	}
	from := c.Times.NumSpan.End
	rest := w.d.File.Text(grammar.Span{Start: from, End: max(from, c.EverySpan.End)})
	for _, word := range []string{"rows", "rounds", "rnds"} {
		if at := strings.Index(rest, word); at >= 0 {
			end := from + at + len(word)
			w.put(mark, grammar.Span{Start: end - 1, End: end}, "", -1)
			return
		}
	}
}

// timesWord makes `1 times` read `1 time`.
func (w *writer) timesWord(mark int, v *grammar.Value, span grammar.Span, x []*big.Rat) {
	if v.UnitSpan.End > v.UnitSpan.Start {
		return // the unit's own word is seen to with its number
	}
	one := true
	for t := range x {
		one = one && same(x[t], unit)
	}
	from := max(v.NumSpan.End, span.Start)
	rest := w.d.File.Text(grammar.Span{Start: from, End: max(from, span.End)})
	at := strings.Index(rest, "time")
	if at < 0 {
		return
	}
	end := at + len("time")
	plural := strings.HasPrefix(rest[end:], "s")
	switch {
	case one && plural:
		w.put(mark, grammar.Span{Start: from + end, End: from + end + 1}, "", -1)
	case !one && !plural:
		w.put(mark, grammar.Span{Start: from + end, End: from + end}, "s", -1)
	}
}

// record keeps the numbers of a clause for the list of numbers.
func (w *writer) record(v *grammar.Value, x []*big.Rat) {
	if q, ok := w.d.Of(v); ok {
		w.out[q.ID] = x
	}
}

// report keeps, for the list of numbers, what a rewritten sentence now says in the place of the drafted clauses.
func (w *writer) report(cs []*grammar.Clause, p *plan, t int) {
	for j, i := range p.clauses {
		var n, a int64
		if j < len(p.of[t]) {
			n, a = p.of[t][j].times, p.of[t][j].every
		}
		if j == 0 && p.now[t] {
			n++
		}
		if q, ok := w.d.Of(cs[i].Times); ok {
			w.out[q.ID][t] = rat(n)
		}
		if q, ok := w.d.Of(cs[i].Every); ok && a > 0 {
			w.out[q.ID][t] = rat(a)
		}
	}
}

// crossed says whether two sizes take the same intervals in different orders: one sentence cannot give both unless it gives
// the intervals size by size.
func (p *plan) crossed() bool {
	up, down := false, false
	for _, of := range p.of {
		if len(of) == 2 {
			up = up || of[0].every < of[1].every
			down = down || of[0].every > of[1].every
		}
	}
	return up && down
}

// line is one clause to be written anew: in the manner of a drafted clause, so many times every so many rows, one each a target.
type line struct {
	clause       int // the drafted clause it follows in its wording
	position     int // among the clauses of its edge
	every, times []int64
	open         bool // its times are left to `until`
}

// lines is the clauses of one edge anew: one for each interval that any size uses; where there are more than two, two with an
// interval for each size.
func (w *writer) lines(cs []*grammar.Clause, p *plan) []line {
	var intervals []int64
	most := 0
	for t := range w.c.Targets {
		most = max(most, len(p.of[t]))
		for _, s := range p.of[t] {
			seen := false
			for _, a := range intervals {
				seen = seen || a == s.every
			}
			if !seen {
				intervals = append(intervals, s.every)
			}
		}
	}
	if most == 0 {
		return w.absent(cs, p)
	}
	var rows [][2][]int64 // interval and times, one a target
	if len(intervals) <= 2 && !p.crossed() {
		order := intervals
		if len(order) == 2 {
			// In the order in which the sizes that use both have them, else as drafted.
			swap := false
			decided := false
			for t := range w.c.Targets {
				if len(p.of[t]) == 2 && !decided {
					swap, decided = p.of[t][0].every != order[0], true
				}
			}
			if !decided && (order[0] < order[1]) != w.quickFirst(cs) {
				swap = true
			}
			if swap {
				order = []int64{order[1], order[0]}
			}
		}
		for _, a := range order {
			row := [2][]int64{make([]int64, w.n()), make([]int64, w.n())}
			for t := range w.c.Targets {
				row[0][t] = a
				for _, s := range p.of[t] {
					if s.every == a {
						row[1][t] = s.times
					}
				}
			}
			rows = append(rows, row)
		}
	} else {
		for k := 0; k < most; k++ {
			row := [2][]int64{make([]int64, w.n()), make([]int64, w.n())}
			for t := range w.c.Targets {
				switch {
				case k < len(p.of[t]):
					row[0][t], row[1][t] = p.of[t][k].every, p.of[t][k].times
				case len(p.of[t]) > 0:
					row[0][t] = p.of[t][0].every
				default:
					row[0][t] = intervals[0]
				}
			}
			rows = append(rows, row)
		}
	}
	for t := range w.c.Targets {
		if !p.now[t] {
			continue
		}
		first := 0
		for k := range rows {
			if rows[k][1][t] > 0 {
				first = k
				break
			}
		}
		rows[first][1][t]++
	}
	var out []line
	// Where a size has no time left for the last clause, what it is worked until was reached before: all times are then said.
	open := cs[p.clauses[len(p.clauses)-1]].Times == nil && !slices.Contains(rows[len(rows)-1][1], 0)
	for k, row := range rows {
		i := p.clauses[min(k, len(p.clauses)-1)]
		out = append(out, line{i, k, row[0], row[1], open && k == len(rows)-1})
	}
	return out
}

// byInterval says clauses that have an interval for each size as clauses of one interval each, with no times where a size lacks
// it; nil where that would take more clauses than there are.
func (w *writer) byInterval(cs []*grammar.Clause, lines []line) []line {
	mixed := false
	for _, l := range lines {
		if l.open || cs[l.clause].Kind != grammar.OnLast {
			return nil
		}
		mixed = mixed || slices.ContainsFunc(l.every, func(a int64) bool { return a != l.every[0] })
	}
	if !mixed {
		return nil
	}
	of := make([][]stretch, w.n())
	var order []int64
	for t := range of {
		p := &plan{of: [][]stretch{nil}, now: []bool{false}}
		for _, l := range lines {
			p.of[0] = append(p.of[0], stretch{l.every[t], l.times[t]})
		}
		of[t] = p.shortened().of[0]
		order = interleaved(order, of[t])
	}
	if len(order) > len(lines) {
		return nil
	}
	out := make([]line, len(order))
	for k, a := range order {
		l := line{clause: min(k, len(cs)-1), position: k, every: make([]int64, w.n()), times: make([]int64, w.n())}
		for t := range of {
			if l.every[t] = a; len(of[t]) > 0 && of[t][0].every == a {
				l.times[t], of[t] = of[t][0].times, of[t][1:]
			}
		}
		out[k] = l
	}
	return out
}

// interleaved is the shortest list of intervals that has those of order and those of a size, each in their order.
func interleaved(order []int64, of []stretch) []int64 {
	n, m := len(order), len(of)
	least := make([][]int, n+1) // of order[i:] and of[j:]
	for i := n; i >= 0; i-- {
		least[i] = make([]int, m+1)
		for j := m; j >= 0; j-- {
			switch {
			case i == n || j == m:
				least[i][j] = n - i + m - j
			case order[i] == of[j].every:
				least[i][j] = 1 + least[i+1][j+1]
			default:
				least[i][j] = 1 + min(least[i+1][j], least[i][j+1])
			}
		}
	}
	var out []int64
	for i, j := 0, 0; i < n || j < m; {
		switch {
		case i < n && j < m && order[i] == of[j].every:
			out = append(out, order[i])
			i, j = i+1, j+1
		case j == m || i < n && least[i+1][j] <= least[i][j+1]:
			out = append(out, order[i])
			i++
		default:
			out = append(out, of[j].every)
			j++
		}
	}
	return out
}

func (w *writer) quickFirst(cs []*grammar.Clause) bool {
	if len(cs) < 2 {
		return true
	}
	return w.intervalAt(cs[0], 0) <= w.intervalAt(cs[len(cs)-1], 0)
}

// absent is the clauses of an edge that no size has: as they stand, with no times.
func (w *writer) absent(cs []*grammar.Clause, p *plan) []line {
	var out []line
	for _, i := range p.clauses {
		n := make([]int64, w.n())
		a := make([]int64, w.n())
		for t := range a {
			a[t] = w.intervalAt(cs[i], t)
		}
		out = append(out, line{i, 0, a, n, false})
	}
	return out
}

// clause is the words of a clause.
func (w *writer) clause(cs []*grammar.Clause, l line) string {
	i, position, a, n, open := l.clause, l.position, l.every, l.times, l.open
	c := cs[i]
	f := w.d.File
	keep := true
	for t := range a {
		keep = keep && (a[t] == w.intervalAt(c, t) || n[t] == 0)
	}
	fresh := position > 0 && position >= len(cs) || i != position && position > 0
	text, whole := inOneLine(f.Text(c.Span))
	if c.CountFirst && !keep || c.EverySpan.End <= c.EverySpan.Start || !whole || fresh && (c.Kind == grammar.NextAnd || c.Kind == grammar.OnNext) {
		return w.plainClause(c, a, n, open)
	}
	type change struct {
		at   grammar.Span
		text string
	}
	var changes []change
	if !keep || w.fresh && written(c.Every) {
		changes = append(changes, change{c.EverySpan, w.every(c, a)})
	}
	times := w.times(c, n)
	switch {
	case open && written(c.Times):
		changes = append(changes, change{c.TimesSpan, ""})
	case open:
	case c.CountFirst:
		changes = append(changes, change{c.Times.NumSpan, w.list(c.Times, n)})
	case written(c.Times):
		changes = append(changes, change{c.TimesSpan, times})
	default:
		changes = append(changes, change{grammar.Span{Start: c.Span.End, End: c.Span.End}, " " + times})
	}
	out := text
	for k := len(changes) - 1; k >= 0; k-- {
		s, e := changes[k].at.Start-c.Span.Start, changes[k].at.End-c.Span.Start
		if s < 0 || e > len(out) || s > e || s > len(text) {
			return w.plainClause(c, a, n, open)
		}
		out = out[:s] + changes[k].text + out[e:]
	}
	if text != f.Text(c.Span) {
		return fold(out)
	}
	return strings.TrimRight(out, " ")
}

// inOneLine is a text with its line ends as blanks, byte for byte; false where the lines begin with marks of a quotation or a list.
func inOneLine(text string) (string, bool) {
	for i := range text {
		if text[i] == '\n' && strings.HasPrefix(strings.TrimLeft(text[i+1:], " \t"), ">") {
			return text, false
		}
	}
	return strings.NewReplacer("\n", " ", "\r", " ").Replace(text), true
}

// plainClause is a clause in the notation's own words, with the author's word for rows.
func (w *writer) plainClause(c *grammar.Clause, a, n []int64, open bool) string {
	out := w.everyPlain(a, w.rowWord(c))
	if c.OnSide != grammar.NoSide && !slices.ContainsFunc(a, func(x int64) bool { return x != 2 }) {
		out = "every " + map[grammar.Side]string{grammar.RS: "RS", grammar.WS: "WS"}[c.OnSide] + " " + w.rowWord(c)
	}
	if !open {
		out += " " + w.times(nil, n)
	}
	return out
}

func (w *writer) rowWord(c *grammar.Clause) string {
	low := strings.ToLower(w.d.File.Text(c.EverySpan))
	for _, x := range []string{"rounds", "round", "rnds", "rnd", "rows", "row"} {
		if strings.Contains(low, x) {
			return strings.TrimSuffix(x, "s")
		}
	}
	if c.EverySpan.End > c.EverySpan.Start {
		return "row"
	}
	for _, x := range []string{"round", "rnd"} {
		if strings.Contains(strings.ToLower(w.d.File.Text(c.Span)), x) {
			return x
		}
	}
	return "row"
}

func (w *writer) everyPlain(a []int64, row string) string {
	same := true
	for _, x := range a {
		same = same && x == a[0]
	}
	if same && a[0] == 1 {
		return "every " + row
	}
	texts := make([]string, len(a))
	if !same && any1(a) {
		// Nobody says `every 1st row`: `every 3 (2, 1) rows`.
		for t, x := range a {
			texts[t] = fmt.Sprint(x)
		}
		return "every " + w.sp.values(nil, texts) + " " + row + "s"
	}
	for t, x := range a {
		texts[t] = ordinal(x)
	}
	return "every " + w.sp.values(nil, texts) + " " + row
}

func any1(a []int64) bool {
	for _, x := range a {
		if x == 1 {
			return true
		}
	}
	return false
}

// every is the words of an interval in the manner of a drafted clause.
func (w *writer) every(c *grammar.Clause, a []int64) string {
	text := w.d.File.Text(c.EverySpan)
	if written(c.Every) {
		all1 := true
		for _, x := range a {
			all1 = all1 && x == 1
		}
		s, e := c.Every.NumSpan.Start-c.EverySpan.Start, c.Every.NumSpan.End-c.EverySpan.Start
		if s >= 0 && e <= len(text) && (all1 || !any1(a)) {
			if all1 {
				rest := strings.TrimLeft(text[e:], " ")
				rest = strings.TrimSuffix(rest, "s")
				return text[:s] + rest
			}
			texts := make([]string, len(a))
			for t, x := range a {
				like := c.Every.Nums[min(len(c.Every.Nums)-1, w.c.Targets[t].Base())]
				texts[t] = w.sp.number(like, rat(x))
			}
			return text[:s] + w.sp.values(c.Every, texts) + text[e:]
		}
	}
	follow := ""
	low := strings.ToLower(text)
	for _, x := range []string{"following ", "foll "} {
		if strings.Contains(low, x) {
			follow = x
			break
		}
	}
	out := w.everyPlain(a, w.rowWord(c))
	return strings.Replace(out, "every ", "every "+follow, 1)
}

// times is `6 times`, in the manner of a drafted clause.
func (w *writer) times(c *grammar.Clause, n []int64) string {
	one := true
	for _, x := range n {
		one = one && x == 1
	}
	if c == nil || !written(c.Times) || c.CountFirst {
		texts := make([]string, len(n))
		for t, x := range n {
			texts[t] = fmt.Sprint(x)
		}
		word := " times"
		if one {
			word = " time"
		}
		if c != nil && c.More {
			word = " more" + word
		}
		return w.sp.values(nil, texts) + word
	}
	text := w.d.File.Text(c.TimesSpan)
	s, e := c.Times.NumSpan.Start-c.TimesSpan.Start, c.Times.NumSpan.End-c.TimesSpan.Start
	number := w.list(c.Times, n)
	if s < 0 || e > len(text) {
		return number + " times"
	}
	out := text[:s] + number + text[e:]
	if !strings.Contains(out, "time") {
		// `once`, `twice`: the word held both.
		if one {
			return "once"
		}
		return number + " times"
	}
	if one {
		return strings.Replace(out, "times", "time", 1)
	}
	if !strings.Contains(out, "times") {
		return strings.Replace(out, "time", "times", 1)
	}
	return out
}

// list is numbers in the manner of a value.
func (w *writer) list(v *grammar.Value, n []int64) string {
	texts := make([]string, len(n))
	if same := !slices.ContainsFunc(n, func(x int64) bool { return x != n[0] }); same {
		v, n = &grammar.Value{Nums: v.Nums[:1]}, n[:1] // a sentence written anew says once what is the same for all
		texts = texts[:1]
	}
	for t, x := range n {
		like := v.Nums[min(len(v.Nums)-1, w.c.Targets[t].Base())]
		texts[t] = w.sp.number(like, rat(x))
		if strings.EqualFold(texts[t], "no") {
			texts[t] = "0"
		}
	}
	return w.sp.values(v, texts)
}
