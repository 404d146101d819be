package rewrite

import (
	"math/big"
	"slices"
	"strings"

	"gaugewright/grammar"
)

// steps writes a stepped bind-off back: at most two sizes of step, one apart.
func (w *writer) steps(mark int, p *grammar.BindOff) {
	type part struct{ sts, steps int64 }
	groups := map[int][]int{} // first clause → clauses
	of := map[int][][]part{}
	still := true
	for t := range w.c.Targets {
		if rec := w.c.solved[t].index.steps[mark]; rec != nil {
			for _, g := range rec.Segments {
				key := g.Clauses[0]
				if len(rec.Segments) == 1 && w.wholeSteps(mark, p) {
					key = 0
				}
				if _, ok := of[key]; !ok {
					of[key] = make([][]part, w.n())
				}
				if key == 0 && w.wholeSteps(mark, p) {
					groups[key] = all(len(p.Steps))
				} else {
					groups[key] = g.Clauses
				}
				T, S := w.value(g.T, t), w.value(g.S, t)
				still = still && w.still(t, g.T, g.S)
				if S < 1 {
					continue
				}
				var ps []part
				if w.still(t, g.T, g.S) {
					// As drafted, clause by clause, those of no rows included.
					for _, k := range groups[key] {
						q, _ := w.d.Of(p.Steps[k].Sts)
						ps = append(ps, part{w.baseOf(q, t), w.stepCount(p.Steps[k], t)})
					}
					of[key][t] = ps
					continue
				}
				if g.FirstNow {
					// The first step stands alone, on the next row.
					one := (T + S - 1) / S
					if g.SmallestFirst {
						one = T / S
					}
					ps = append(ps, part{one, 1})
					T, S = T-one, S-1
					if S == 0 {
						of[key][t] = ps
						continue
					}
				}
				lo, more := T/S, T%S
				first := len(ps)
				if more > 0 {
					ps = append(ps, part{lo + 1, more})
				}
				if S-more > 0 && lo > 0 {
					ps = append(ps, part{lo, S - more})
				}
				if len(ps) == first+2 && g.SmallestFirst {
					ps[first], ps[first+1] = ps[first+1], ps[first]
				}
				of[key][t] = ps
			}
		}
	}
	if still && !w.fresh {
		for i, st := range p.Steps {
			if _, grouped := groups[i]; !grouped && !covered(groups, i) {
				q, _ := w.d.Of(st.Sts)
				w.putValue(mark, st.Sts, w.out[q.ID], q.ID)
			}
		}
		return
	}
	taken := map[int]bool{}
	texts := make([]string, 0, len(p.Steps))
	fits := true
	type set struct {
		i          int
		sts, steps []int64
	}
	var sets []set
	for i := 0; i < len(p.Steps); i++ {
		cl, grouped := groups[i]
		if taken[i] {
			continue
		}
		if !grouped {
			// A notch, or a clause as it stands: one number of stitches, rows as drafted.
			sets = append(sets, set{i, nil, nil})
			continue
		}
		for _, k := range cl {
			taken[k] = true
		}
		most := 0
		for t := range w.c.Targets {
			most = max(most, len(of[i][t]))
		}
		if most > len(cl) {
			fits = false
		}
		for k := 0; k < max(most, len(cl)); k++ {
			s := set{cl[min(k, len(cl)-1)], make([]int64, w.n()), make([]int64, w.n())}
			if k >= len(cl) {
				s.i = -1 - cl[len(cl)-1]
			}
			was := false
			any := false
			for t := range w.c.Targets {
				if k < len(of[i][t]) {
					s.sts[t], s.steps[t] = of[i][t][k].sts, of[i][t][k].steps
					any = any || of[i][t][k].steps > 0
				}
				if s.i >= 0 {
					was = was || w.stepCount(p.Steps[s.i], t) > 0
				}
			}
			if !any && (was || s.i < 0 || w.fresh) && len(p.Steps) > 1 {
				fits = false // a clause that no size needs any more goes
				continue
			}
			if s.i >= 0 && any && !w.sameSteps(p.Steps[s.i], s.steps) && !w.stepsWritten(p.Steps[s.i]) {
				fits = false
			}
			sets = append(sets, s)
		}
	}
	// `6 sts at beg of next and foll 2 alt rows` has one number for all its steps.
	for a, x := range sets {
		for _, y := range sets[a+1:] {
			if x.i >= 0 && y.i >= 0 && x.sts != nil && y.sts != nil && p.Steps[x.i].Sts == p.Steps[y.i].Sts && !agree(x.sts, x.steps, y.sts, y.steps) {
				fits = false
			}
		}
	}
	for k, s := range sets {
		i := s.i
		if i < 0 {
			i = -1 - i
		}
		st := p.Steps[i]
		if s.sts == nil {
			q, _ := w.d.Of(st.Sts)
			if fits {
				w.putValue(mark, st.Sts, w.out[q.ID], q.ID)
				if w.fresh {
					w.freshStep(mark, st)
				}
				continue
			}
			n := make([]int64, w.n())
			none := true
			for t := range n {
				n[t] = w.out[q.ID][t].Num().Int64()
				none = none && n[t] == 0
			}
			if none {
				continue // a clause of other sizes
			}
			texts = append(texts, w.stepText(st, n, nil, false))
			continue
		}
		if q, ok := w.d.Of(st.Sts); ok && s.i >= 0 {
			for t := range w.c.Targets {
				w.out[q.ID][t] = rat(s.sts[t])
			}
		}
		if fits {
			w.stepDigits(mark, st, s.sts, s.steps)
			continue
		}
		if oneNumber(p, st) {
			texts = append(texts, w.plainStep(st, filled(s.sts, s.steps), s.steps, k == 0))
			continue
		}
		texts = append(texts, w.stepText(st, filled(s.sts, s.steps), s.steps, s.i < 0))
	}
	if fits {
		return
	}
	span := p.ListSpan
	if span.End <= span.Start {
		span = grammar.Span{Start: p.Steps[0].Span.Start, End: p.Steps[len(p.Steps)-1].Span.End}
	}
	w.put(mark, span, strings.Join(texts, ", then "), w.quantityOf(p.Steps[0].Sts))
	w.rewritten[mark] = true
}

// filled is the stitches of a clause of which some sizes have no step: where all that have some agree, one number serves for all.
func filled(sts, steps []int64) []int64 {
	one := int64(0)
	for t, n := range sts {
		if steps[t] > 0 && one > 0 && n != one {
			return sts
		}
		if steps[t] > 0 {
			one = n
		}
	}
	out := make([]int64, len(sts))
	for t := range out {
		out[t] = one
	}
	return out
}

// agree says whether two clauses bind off the same number of stitches a step in every target that has both.
func agree(aSts, aSteps, bSts, bSteps []int64) bool {
	for t := range aSts {
		if aSteps[t] > 0 && bSteps[t] > 0 && aSts[t] != bSts[t] {
			return false
		}
	}
	return true
}

// oneNumber says whether a clause is written with one number of stitches for several rows that it counts before it names them,
// `6 sts at beg of next and foll 2 alt rows`: no other number can stand beside it.
func oneNumber(p *grammar.BindOff, s *grammar.Step) bool {
	for _, o := range p.Steps {
		if o != s && o.Sts == s.Sts {
			return true
		}
	}
	return s.Times != nil && s.TimesSpan.Start >= s.EverySpan.Start && s.TimesSpan.End <= s.EverySpan.End && s.EverySpan.End > s.EverySpan.Start
}

// plainStep is a clause of a one-edged bind-off in the notation's own words: `6 sts at beg of the next row`, `5 sts every 2nd row 2 times`.
func (w *writer) plainStep(s *grammar.Step, sts, steps []int64, first bool) string {
	unit := "sts"
	if u := w.d.File.Text(s.Sts.UnitSpan); u != "" {
		unit = u
	}
	out := w.list(s.Sts, sts) + " " + unit
	if first {
		edge := "at the beginning"
		if s.Where.Span.End > s.Where.Span.Start {
			edge = strings.TrimSuffix(strings.TrimSpace(fold(w.d.File.Text(s.Where.Span))), " of")
		}
		out += " " + edge
		if s.Rows != nil {
			return out + map[bool]string{true: " on the next row", false: " of the next row"}[s.Where.Ends == grammar.NamedEdge]
		}
		if s.Where.Ends != grammar.NamedEdge {
			out += " of"
		}
	}
	every := int64(2)
	if s.Every != nil && len(s.Every.Nums) > 0 && s.Every.Nums[0].Val.IsInt() {
		every = s.Every.Nums[0].Val.Num().Int64()
	}
	return out + " every " + ordinal(every) + " row " + w.times(nil, steps)
}

// covered says whether clause i belongs to a group.
func covered(groups map[int][]int, i int) bool {
	for _, g := range groups {
		for _, k := range g {
			if k == i {
				return true
			}
		}
	}
	return false
}

func all(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// wholeSteps says whether a stepped edge is one edge in some size: then it is in all.
func (w *writer) wholeSteps(mark int, p *grammar.BindOff) bool {
	for t := range w.c.Targets {
		if rec := w.c.solved[t].index.steps[mark]; rec != nil && rec.Whole {
			return true
		}
	}
	return len(p.Steps) == 1
}

// stepCount is the steps a clause makes at one edge in target t as drafted.
func (w *writer) stepCount(s *grammar.Step, t int) int64 {
	base := w.c.Targets[t].Base()
	if q, ok := w.d.Of(s.Times); ok {
		return q.Drafted[base]
	}
	if q, ok := w.d.Of(s.Rows); ok {
		n := q.Drafted[base]
		if s.Where.Ends == grammar.NamedEdge || n == 1 {
			return n
		}
		return n / 2
	}
	return 1
}

func (w *writer) sameSteps(s *grammar.Step, steps []int64) bool {
	for t := range steps {
		if w.stepCount(s, t) != steps[t] {
			return false
		}
	}
	return true
}

// stepsWritten says whether a clause says its number of rows or times in digits that can change.
func (w *writer) stepsWritten(s *grammar.Step) bool { return written(s.Times) || written(s.Rows) }

func (w *writer) freshStep(mark int, s *grammar.Step) {
	for _, v := range []*grammar.Value{s.Rows, s.Times, s.Every} {
		if q, ok := w.d.Of(v); ok && written(v) {
			w.putValue(mark, v, w.out[q.ID], q.ID)
		}
	}
}

// rowsFor is the rows of so many steps in the manner of a clause.
func rowsFor(s *grammar.Step, steps int64) int64 {
	if s.Where.Ends == grammar.NamedEdge {
		return steps
	}
	return 2 * steps
}

func (w *writer) stepDigits(mark int, s *grammar.Step, sts, steps []int64) {
	x, y := make([]*big.Rat, w.n()), make([]*big.Rat, w.n())
	for t := range x {
		x[t] = rat(sts[t])
		y[t] = rat(steps[t])
	}
	w.putValue(mark, s.Sts, x, w.quantityOf(s.Sts))
	switch {
	case written(s.Times):
		w.record(s.Times, y)
		w.putTimes(mark, s.Times, s.TimesSpan, y)
	case written(s.Rows):
		for t := range y {
			y[t] = rat(rowsFor(s, steps[t]))
		}
		w.record(s.Rows, y)
		w.putValue(mark, s.Rows, y, w.quantityOf(s.Rows))
	}
	if w.fresh && written(s.Every) {
		q, _ := w.d.Of(s.Every)
		w.putValue(mark, s.Every, w.out[q.ID], q.ID)
	}
}

// stepText is one clause of a stepped bind-off in the manner of a drafted one.
func (w *writer) stepText(s *grammar.Step, sts, steps []int64, following bool) string {
	number := func(v *grammar.Value, n []int64) string {
		if v != nil && len(v.Nums) > 0 && v.NumSpan.End > v.NumSpan.Start {
			return w.list(v, n)
		}
		return w.list(&grammar.Value{Nums: []grammar.Num{{Text: "1", Val: rat(1)}}}, n)
	}
	one := true
	for _, n := range sts {
		one = one && n == 1
	}
	unit := "sts"
	if u := w.d.File.Text(s.Sts.UnitSpan); s.Sts.UnitSpan.End > s.Sts.UnitSpan.Start {
		unit = u
		if x := unitFor(u, one); x != "" {
			unit = x
		}
	} else if one {
		unit = "st"
	}
	out := number(s.Sts, sts) + " " + unit
	if steps == nil || s.Rows != nil && !written(s.Rows) && s.Times == nil && !following {
		// As it stands but for its stitches.
		text := w.d.File.Text(s.Span)
		if e := s.Sts.Span.End - s.Span.Start; e >= 0 && e <= len(text) && s.Sts.Span.Start == s.Span.Start {
			return out + fold2(text[e:])
		}
	}
	edge := "at the beginning"
	if s.Where.Span.End > s.Where.Span.Start {
		edge = fold(w.d.File.Text(s.Where.Span))
	}
	if steps == nil {
		steps = make([]int64, w.n())
		for t := range steps {
			steps[t] = w.stepCount(s, t)
		}
	}
	if s.Times != nil || s.Every != nil || s.EveryStep > 0 || s.Where.Ends == grammar.NamedEdge || !written(s.Rows) {
		row := "row"
		if strings.Contains(strings.ToLower(w.d.File.Text(s.Span)), "rnd") || strings.Contains(strings.ToLower(w.d.File.Text(s.Span)), "round") {
			row = "round"
		}
		if s.Where.Span.End > s.Where.Span.Start {
			out += " " + edge
		}
		every := "every 2nd " + row
		if s.EverySpan.End > s.EverySpan.Start {
			every = fold(w.d.File.Text(s.EverySpan))
		}
		return out + " " + every + " " + w.times(nil, steps)
	}
	rows := make([]int64, len(steps))
	for t := range rows {
		rows[t] = rowsFor(s, steps[t])
	}
	next := "next"
	low := strings.ToLower(w.d.File.Text(s.Span))
	if following || strings.Contains(low, "foll") {
		next = "following"
		if strings.Contains(low, "foll ") {
			next = "foll"
		}
	}
	edge = strings.TrimSuffix(strings.TrimSpace(edge), " of")
	return out + " " + edge + " of the " + next + " " + number(s.Rows, rows) + " rows"
}

func fold2(s string) string {
	out := fold(s)
	if s != "" && (s[0] == ' ' || s[0] == '\n') {
		return " " + out
	}
	return out
}

// turns writes short rows back.
func (w *writer) turns(mark int, p *grammar.Turn) {
	n := w.n()
	type pair struct{ sts, times [2]int64 }
	of := make([]pair, n)
	two := false
	for t := range w.c.Targets {
		rec := w.c.solved[t].index.steps[mark]
		if rec == nil || len(rec.Segments) == 0 {
			continue
		}
		g := rec.Segments[0]
		T, S := w.value(g.T, t), w.value(g.S, t)
		if S < 1 {
			continue
		}
		if w.still(t, g.T, g.S) && len(p.Steps) <= 2 {
			for k, st := range p.Steps {
				q, _ := w.d.Of(st.Sts)
				n := int64(1)
				if x, ok := w.d.Of(st.Times); ok {
					n = w.baseOf(x, t)
				}
				of[t].sts[k], of[t].times[k] = w.baseOf(q, t), n
			}
			two = two || of[t].times[1] > 0
			continue
		}
		lo, more := T/S, T%S
		of[t] = pair{[2]int64{lo + 1, lo}, [2]int64{more, S - more}}
		if more == 0 {
			of[t] = pair{[2]int64{lo, 0}, [2]int64{S, 0}}
		} else if len(p.Steps) == 2 {
			a, _ := w.d.Of(p.Steps[0].Sts)
			b, _ := w.d.Of(p.Steps[1].Sts)
			if base := w.c.Targets[t].Base(); a.Drafted[base] < b.Drafted[base] {
				of[t].sts[0], of[t].sts[1] = of[t].sts[1], of[t].sts[0]
				of[t].times[0], of[t].times[1] = of[t].times[1], of[t].times[0]
			}
		}
		two = two || of[t].times[1] > 0
	}
	column := func(k int, f func(p pair) int64) []int64 {
		out := make([]int64, n)
		for t := range out {
			out[t] = f(of[t])
		}
		return out
	}
	need := 1
	if two {
		need = 2
	}
	if need == len(p.Steps) || need < len(p.Steps) && len(p.Steps) == 2 && need == 2 {
		for k, s := range p.Steps {
			w.turnDigits(mark, s, column(k, func(p pair) int64 { return p.sts[k] }), column(k, func(p pair) int64 { return p.times[k] }))
		}
		return
	}
	if same := w.turnsAsDrafted(p, func(t int) (int64, int64) {
		return of[t].sts[0]*of[t].times[0] + of[t].sts[1]*of[t].times[1], of[t].times[0] + of[t].times[1]
	}); same && !w.fresh {
		return
	}
	var texts []string
	for k := 0; k < need; k++ {
		s := p.Steps[min(k, len(p.Steps)-1)]
		times := column(k, func(p pair) int64 { return p.times[k] })
		sts := filled(column(k, func(p pair) int64 { return p.sts[k] }), times)
		unit := " sts"
		if !slices.ContainsFunc(sts, func(n int64) bool { return n != 1 }) {
			unit = " st"
		}
		texts = append(texts, w.list(s.Sts, sts)+unit+" before the end, "+w.times(nil, times))
	}
	w.put(mark, p.ListSpan, strings.Join(texts, ", then "), w.quantityOf(p.Steps[0].Sts))
	w.rewritten[mark] = true
}

func (w *writer) turnsAsDrafted(p *grammar.Turn, is func(t int) (int64, int64)) bool {
	for t := range w.c.Targets {
		base := w.c.Targets[t].Base()
		var sts, times int64
		for _, s := range p.Steps {
			n := int64(1)
			if q, ok := w.d.Of(s.Times); ok {
				n = q.Drafted[base]
			}
			if q, ok := w.d.Of(s.Sts); ok {
				sts += n * q.Drafted[base]
			}
			times += n
		}
		a, b := is(t)
		if a != sts || b != times {
			return false
		}
	}
	return true
}

func (w *writer) turnDigits(mark int, s *grammar.TurnStep, sts, times []int64) {
	x, y := make([]*big.Rat, len(sts)), make([]*big.Rat, len(sts))
	for t := range sts {
		x[t], y[t] = rat(sts[t]), rat(times[t])
	}
	w.record(s.Sts, x)
	w.putValue(mark, s.Sts, x, w.quantityOf(s.Sts))
	if s.Times == nil {
		return
	}
	w.record(s.Times, y)
	if written(s.Times) {
		w.putTimes(mark, s.Times, s.TimesSpan, y)
	}
}
