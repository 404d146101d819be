package rewrite

import (
	"math/big"
	"slices"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// why says in one short sentence why a number of the new version is what it is. It is the short form of what Explain says at
// length, and is made of the same sizes asked for; what the next choice would have broken is left to Explain, which has to look
// for it. It is "" where only the author knows.
func (x *comparer) why(n *Number, p *NumberPair) string {
	d := x.new.Draft
	q := d.Quantities[n.Quantity]
	switch {
	case q.Fixed && p.Is == Same:
		return "fixed"
	case q.Tie != nil && q.Tie.Kind == q.Kind && q.Kind != dsl.Length:
		return "exactly " + x.tieText(q)
	case q.Kind == dsl.Length:
		return x.whyLength(n, p, q)
	case q.Kind == dsl.Yarn:
		if x.converted() {
			return "from the area of the cloth and how close its stitches lie"
		}
		return ""
	}
	if s := x.whyScore(n, p); s != "" {
		return s
	}
	if s := x.whyShaping(n, p); s != "" {
		return s
	}
	return x.whyShared(n, p)
}

// tieText is the expression a quantity is tied to.
func (x *comparer) tieText(q *dsl.Quantity) string { return fold(x.new.Draft.File.Text(q.TieAt)) }

func (x *comparer) whyLength(n *Number, p *NumberPair, q *dsl.Quantity) string {
	stated := false
	for _, s := range x.new.solved {
		_, ok := s.index.height.of(q.ID)
		stated = stated || ok
	}
	switch {
	case q.Tie != nil && q.Tie.Kind == dsl.Length:
		return "follows " + x.tieText(q)
	case stated && p.Is != Same:
		return "what the rows before it come to"
	case x.converted():
		return "stays as long as drafted"
	}
	return ""
}

// list is a text for each size that the new version has, in the layout of a number.
func (x *comparer) list(p *NumberPair, of func(size int) string) string {
	var out []string
	for _, s := range x.out.Sizes {
		if s.New >= 0 {
			out = append(out, of(s.New))
		}
	}
	return listed(out, p.Style)
}

// whyScore is the reason of a number that has a size of its own: how many it would take to give that exactly, and what kept it
// from being the nearest.
func (x *comparer) whyScore(n *Number, p *NumberPair) string {
	c := x.new
	at := make([]*dsl.Score, len(c.solved))
	for t, s := range c.solved {
		k, ok := s.index.score.of(n.Quantity)
		if !ok {
			continue
		}
		at[t] = &s.run.Scores[k]
	}
	byHand := !x.converted()
	if byHand && !n.Tied && !x.gaugeOf[x.fabricOf(n)] {
		return x.whyByHand(p)
	}
	exact := make([]*big.Rat, len(at))
	var sc *dsl.Score
	near, panels := true, false
	var over *big.Rat
	for t, one := range at {
		if one == nil {
			continue
		}
		s := c.solved[t]
		k, _ := s.index.score.of(n.Quantity)
		sc = one
		per := c.Fabrics[sc.Fabric].Stitches
		if sc.Rows {
			per = c.Fabrics[sc.Fabric].Rows
		}
		panels = panels || len(sc.Panels) > 0
		wish := s.wanted[k].Rat()
		if byHand && sc.Tie < 0 {
			wish = x.before(p, t)
		}
		if wish == nil {
			continue
		}
		exact[t] = new(big.Rat).Mul(wish, per)
		if s.depart[k] != nil {
			over = s.depart[k]
		}
		got := sc.Expr.At(func(q int) int64 { return s.values[q] })
		near = near && dsl.RoundTo(exact[t], big.NewRat(1, 1)).Cmp(rat(got)) == 0
	}
	if sc == nil || !slices.ContainsFunc(exact, func(v *big.Rat) bool { return v != nil }) {
		return "" // nothing asked for it: it is new
	}
	lead, unit := x.lead(sc, n), n.unitWord(sc.Rows)
	if panels {
		return lead + " decides, with the panel in its own fabric"
	}
	asks := x.list(p, func(t int) string {
		if exact[t] == nil {
			return ""
		}
		return decimal(dsl.RoundTo(exact[t], big.NewRat(1, 10)), 1)
	})
	text := lead + " asks for " + asks + " " + unit
	if over != nil {
		text += ", the draft's own departure with it"
	}
	if near {
		return text
	}
	if kept := x.kept(n, sc); kept != "" {
		text += "; " + kept
	}
	return text
}

// before is what a number came to in the old version, in a size of the new one.
func (x *comparer) before(p *NumberPair, size int) *big.Rat {
	for i, s := range x.out.Sizes {
		if s.New == size && i < len(p.OldMeasures) {
			return p.OldMeasures[i]
		}
	}
	return nil
}

// lead is what asks for a size.
func (x *comparer) lead(sc *dsl.Score, n *Number) string {
	switch {
	case sc.Tie >= 0:
		return x.tieText(x.new.Draft.Quantities[sc.Tie])
	case !x.converted() && sc.Rows:
		return "its old height"
	case !x.converted():
		return "its old width"
	case sc.Rows:
		return "the drafted height"
	}
	return "the drafted width"
}

// unitWord is what a number counts, in the plural.
func (n *Number) unitWord(rows bool) string {
	switch {
	case n.Unit == grammar.Rounds:
		return "rounds"
	case rows:
		return "rows" // ridges are counted in the rows they are made of
	}
	return "sts"
}

// kept is what kept a number from being the nearest.
func (x *comparer) kept(n *Number, sc *dsl.Score) string {
	q := x.new.Draft.Quantities[n.Quantity]
	var of []string
	for _, m := range q.Of {
		of = append(of, strings.TrimSpace(x.new.Draft.File.Text(m.Span)))
	}
	switch {
	case len(of) > 0:
		return strings.Join(of, " and ")
	case sc.Rows && x.sided(n, sc):
		return "the row after it stays on its side"
	case q.Rounded != 0:
		return map[int]string{1: "rounded up", -1: "rounded down"}[q.Rounded]
	case !x.converted():
		return "" // the author knows
	}
	return "the nearest that adds up with the rest"
}

// sided says whether the rows of a number have to be even, or odd, so that what follows begins on its side.
func (x *comparer) sided(n *Number, sc *dsl.Score) bool {
	for _, s := range x.new.solved {
		for k := range s.run.Relations {
			r := &s.run.Relations[k]
			if r.Mark == n.Mark && r.Kind == dsl.Multiple && r.Mod == 2 && len(r.Expr.Terms) == 1 && len(sc.Expr.Terms) == 1 && r.Expr.Terms[0].Quantity == sc.Expr.Terms[0].Quantity {
				return true
			}
		}
	}
	return false
}

// whyByHand tells of a number that nothing is tied to in a version made by hand.
func (x *comparer) whyByHand(p *NumberPair) string {
	if p.Is != Changed {
		return ""
	}
	return "changed by the author; nothing is tied to it"
}

// whyShaping is the reason of the times and intervals of shaping: how often it is done over how many rows.
func (x *comparer) whyShaping(n *Number, p *NumberPair) string {
	times, rows, steps := x.shaped(n.Mark, true), x.shaped(n.Mark, false), ""
	if times == nil {
		return ""
	}
	say := func(v []int64) string {
		return x.list(p, func(t int) string {
			if t >= len(v) {
				return ""
			}
			return rat(v[t]).RatString()
		})
	}
	unit := "rows"
	if x.new.Draft.File.Marks[n.Mark].RowWord == grammar.Rounds {
		unit = "rounds"
	}
	steps = say(times)
	word := "times"
	if steps == "1" {
		word = "time"
	}
	if rows == nil {
		return "shares " + steps + " sts out as evenly as whole numbers can"
	}
	return steps + " " + word + " in all, over " + say(rows) + " " + unit
}

// shaped is, size by size, how often an instruction shapes, or over how many rows; of bind-offs in steps, the stitches.
func (x *comparer) shaped(mark int, times bool) []int64 {
	var out []int64
	for _, s := range x.new.solved {
		v := func(q int) int64 { return s.values[q] }
		var sum int64
		switch sh, st := s.index.schedule[mark], s.index.steps[mark]; {
		case sh != nil:
			for _, g := range sh.Segments {
				if times {
					sum += v(g.N)
				} else {
					sum += g.RowsAt(v)
				}
			}
		case st != nil && times:
			for _, g := range st.Segments {
				sum += v(g.T)
			}
		default:
			return nil
		}
		out = append(out, sum)
	}
	return out
}

// whyShared is the reason of what follows from other numbers.
func (x *comparer) whyShared(n *Number, p *NumberPair) string {
	if !x.converted() && p.Is == Same {
		return ""
	}
	switch x.new.Draft.File.Marks[n.Mark].Phrase.(type) {
	case *grammar.Statement, *grammar.Close:
		return "what the instructions before it leave"
	case *grammar.Layout, *grammar.Panel:
		return "shared out of the stitches in hand"
	case *grammar.Evenly:
		return "from the count before it to the count after it"
	case *grammar.PickUp:
		return "from the stitch and row gauge together"
	case *grammar.Space:
		return "spread as evenly as whole numbers can"
	case *grammar.Divide, *grammar.Join, *grammar.Hold:
		return "the stitches in hand, added up"
	}
	if x.converted() {
		return "follows from the counts around it"
	}
	return x.whyByHand(p)
}
