package rewrite

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// soften tells of rules that were left because keeping them would have cost more.
func (c *converter) soften() {
	for _, s := range c.c.solved {
		for _, r := range s.given {
			m := c.d.File.Marks[r.Mark]
			if _, ok := m.Phrase.(*grammar.Evenly); ok {
				continue // told where the sentence is turned round
			}
			in := ""
			if len(c.c.Targets) > 1 {
				in = " in size " + s.target.Name
			}
			c.warn("%s%s: %s.", c.spot(r.Mark), in, r.Soft)
		}
	}
}

// meet tells what is taken to be sewn together and so was kept equal, and warns where that could not be.
func (c *converter) meet() {
	var pairs []string
	what := map[string][]string{}
	for _, s := range c.c.solved {
		for i := range s.model.rules {
			r := s.model.rules[i].seam
			if r == nil || r.Seam.Said {
				continue
			}
			pair := c.pieces(r.Seam.Mark, r.Mark)
			if what[pair] == nil {
				pairs = append(pairs, pair)
			}
			if !slices.Contains(what[pair], r.Seam.What) {
				what[pair] = append(what[pair], r.Seam.What)
			}
		}
		c.parted(s)
	}
	for i, p := range pairs {
		pairs[i] = fmt.Sprintf("%s (%s)", p, strings.Join(what[p], ", "))
	}
	if len(pairs) > 0 {
		c.assume("Taken to be sewn together, and so kept equal where they were drafted equal: %s.", strings.Join(pairs, "; "))
	}
}

// parted warns of what was drafted equal in pieces that meet and does not come out so, because the draft asks for more elsewhere.
func (c *converter) parted(s *solved) {
	value := func(q int) int64 { return s.values[q] }
	for i := range s.run.Relations {
		r := &s.run.Relations[i]
		if !s.parted[r] || r.Expr.At(value) == 0 {
			continue
		}
		in := ""
		if len(c.c.Targets) > 1 {
			in = " in size " + s.target.Name
		}
		c.warn("%s and %s were drafted equal in %s and come out %d and %d%s, because something else had to hold: ease the one to the other as you sew.",
			c.spot(r.Seam.Mark), c.spot(r.Mark), r.Seam.What, r.Seam.To.At(value), r.Seam.It.At(value), in)
	}
}

// pieces is the headings that two instructions stand under.
func (c *converter) pieces(a, b int) string {
	name := func(i int) string {
		if h := c.d.File.Marks[i].Heading; h >= 0 {
			return strings.TrimRight(c.d.File.Headings[h].Text, ".:")
		}
		return "the draft"
	}
	if x, y := name(a), name(b); x != y {
		return x + " and " + y
	}
	return name(a)
}

// motifs warns of panels, which keep their stitches at any gauge, where they leave less than half as much cloth beside them as drafted.
func (c *converter) motifs() {
	for i, m := range c.d.File.Marks {
		p, ok := m.Phrase.(*grammar.Panel)
		if !ok {
			continue
		}
		var now, was []string
		narrow := false
		for _, s := range c.c.solved {
			q, _ := c.d.Of(p.Count)
			base := s.target.Base()
			v := func(q int) int64 { return s.values[q] }
			drafted := func(q int) int64 { return c.d.Quantities[q].Drafted[base] }
			for k := range s.run.Stages {
				if st := &s.run.Stages[k]; st.Mark == i {
					a, b := st.Count.At(v)-q.Drafted[base], st.Count.At(drafted)-q.Drafted[base]
					x := new(big.Rat).Quo(rat(2*a), c.now[0].Stitches)
					narrow = narrow || x.Cmp(new(big.Rat).Quo(rat(b), c.old[0].Stitches)) < 0
					now, was = append(now, fmt.Sprint(a)), append(was, fmt.Sprint(b))
					break
				}
			}
		}
		if narrow {
			c.warn("%s is a motif and keeps its stitches, so %s sts are left beside it where the draft has %s. Choose a motif of another width, or cast on more.", c.spot(i), list(now), list(was))
		}
	}
}

// missed tells of widths that come out far from what was wished for, because something else had to hold: by more than 2.5 cm, or by more
// than 1 cm (2 cm where nothing is measured by them) that is more than a twentieth of them, and in any case by more than a stitch.
func (c *converter) missed() {
	type miss struct {
		mark  int
		texts []string
	}
	var found []miss
	at := map[int]int{}
	for _, s := range c.c.solved {
		value := func(q int) int64 { return s.values[q] }
		for i := range s.run.Scores {
			sc := &s.run.Scores[i]
			if sc.Rows || !sc.Count && sc.Tie < 0 {
				continue
			}
			is, wish := sc.Size(value, c.now), s.wanted[i]
			off := is.Minus(wish).Abs()
			if !farOff(off, wish, c.now[sc.Fabric]) || sc.Tie < 0 && (off.Cmp(dsl.FractionOf(2)) <= 0 || tiedElsewhere(s.run, sc)) {
				continue
			}
			text := fmt.Sprintf("%d sts measure %s where %s are wished for", sc.Expr.At(value), c.exact(is.Rat()), c.exact(wish.Rat()))
			if len(c.c.Targets) > 1 {
				text = s.target.Name + ": " + text
			}
			k, known := at[sc.Mark]
			if !known {
				k = len(found)
				at[sc.Mark] = k
				found = append(found, miss{mark: sc.Mark})
			}
			if !slices.Contains(found[k].texts, text) {
				found[k].texts = append(found[k].texts, text)
			}
		}
	}
	for _, m := range found {
		c.warn("%s comes out far from its size. %s.", c.spot(m.mark), strings.Join(m.texts, "; "))
	}
}

// tiedElsewhere says whether a count without a tie is stated again with one, which then speaks for both.
func tiedElsewhere(run *dsl.Run, sc *dsl.Score) bool {
	for i := range run.Scores {
		o := &run.Scores[i]
		if o.Tie < 0 || o.Rows {
			continue
		}
		apart := o.Expr.Plus(sc.Expr, -1)
		for k := range run.Relations {
			if r := &run.Relations[k]; r.Kind == dsl.Zero && (r.Expr.Same(apart) || r.Expr.Same(apart.Times(-1))) {
				return true
			}
		}
	}
	return false
}

func farOff(off, wish dsl.Fraction, g dsl.Gauge) bool {
	cm := dsl.FractionOf
	if off.Cmp(cm(1)) <= 0 || off.Times(dsl.FractionFrom(g.Stitches)).Cmp(cm(1)) <= 0 {
		return false
	}
	return off.Times(cm(2)).Cmp(cm(5)) > 0 || off.Times(cm(20)).Cmp(wish) > 0
}

// left tells of numbers in the prose that are not marked: nobody should find an old count in a new pattern.
func (c *converter) left() {
	if c.c.Unchanged || len(c.d.File.Loose) == 0 {
		return
	}
	// Counts first: an old one beside new ones is a wrong pattern. Lengths stay right, and yarn is estimated apart.
	said := make([][]string, 3)
	at := [3]int{-2, -2, -2}
	for _, l := range c.d.File.Loose {
		rank := 1
		switch u := l.Unit; {
		case u == grammar.Stitches, u.IsRows(), u == grammar.Repeats:
			rank = 0
		case u.IsLength():
		case u != grammar.NoUnit:
			rank = 2
		}
		text := strings.Trim(l.Text, " `")
		if h := c.under(l.Span.Start); h != at[rank] {
			if at[rank] = h; h >= 0 {
				text = c.d.File.Headings[h].Text + ": " + text
			}
			said[rank] = append(said[rank], text)
			continue
		}
		said[rank][len(said[rank])-1] += ", " + text
	}
	if len(said[0]) > 0 {
		c.warn("Counts in the text that are not marked stay as drafted, beside others that changed. Work them out anew, or mark them. %s.", strings.Join(said[0], "; "))
	}
	if rest := append(said[1], said[2]...); len(rest) > 0 {
		c.warn("Other numbers that are not marked stay as they are. %s.", strings.Join(rest, "; "))
	}
}

// takenUp tells of counts that were taken up where the text before them is not followed: at another gauge nothing ties them to what
// is in hand there.
func (c *converter) takenUp() {
	if c.c.Unchanged {
		return
	}
	var said []string
	for i, m := range c.d.File.Marks {
		counts := false
		switch p := m.Phrase.(type) {
		case *grammar.Statement:
			counts = p.Value.Unit == grammar.Stitches
		case *grammar.Resume:
			counts = p.Count != nil
		case *grammar.Repeat, *grammar.Shape, *grammar.Evenly, *grammar.Layout, *grammar.Divide, *grammar.Hold:
			counts = true
		}
		if m.TakenUp && counts {
			said = append(said, c.spot(i))
		}
	}
	if len(said) > 0 {
		c.warn("Text that is not marked leads to these, so nothing holds them to the counts before them at another gauge. Work them out by hand. %s.", strings.Join(said, "; "))
	}
}

// under is the heading that a place stands under, -1 where there is none.
func (c *converter) under(at int) int {
	h := -1
	for i := range c.d.File.Headings {
		if c.d.File.Headings[i].Span.Start < at {
			h = i
		}
	}
	return h
}

// spot is where an instruction stands, in words that serve a reader of any of the outputs.
func (c *converter) spot(mark int) string {
	m := c.d.File.Marks[mark]
	text := fold(c.d.File.Text(m.PhraseSpan))
	if r := []rune(text); len(r) > 60 {
		text = string(r[:57]) + "…"
	}
	if m.Heading >= 0 {
		return fmt.Sprintf("%s, “%s”", c.d.File.Headings[m.Heading].Text, text)
	}
	return fmt.Sprintf("“%s”", text)
}

// grading notes small steps between sizes that run against the grading; they are not mended.
func (c *converter) grading() {
	if len(c.c.Targets) < 2 || c.c.Unchanged {
		return
	}
	var said []string
	for _, n := range c.c.Numbers {
		if n.Kind != dsl.Stitches || !n.Changed || len(n.From) != len(n.To) || n.Phrase == "evenly" {
			continue
		}
		for t := 1; t < len(n.To); t++ {
			a, b := n.To[t-1], n.To[t]
			if a == nil || b == nil || a.Sign() == 0 || b.Sign() == 0 {
				continue
			}
			was, is := order(n.From[t], n.From[t-1]), order(b, a)
			if was >= 0 && is < 0 || was < 0 && is > 0 {
				said = append(said, fmt.Sprintf("%s (%s %s, %s %s)", c.spot(n.Mark), c.c.Targets[t-1].Name, a.RatString(), c.c.Targets[t].Name, b.RatString()))
				break
			}
		}
	}
	if len(said) == 0 {
		return
	}
	if n := len(said); n > 6 {
		said = append(said[:6:6], fmt.Sprintf("and %d more", n-6))
	}
	c.warn("Small steps that run against the grading of the sizes; each size adds up best so: %s.", strings.Join(said, "; "))
}
