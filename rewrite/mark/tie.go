package mark

import (
	"math/big"
	"strconv"
	"strings"

	"gaugewright/grammar"
)

// tie suggests what counts follow: the width that the text gives, a measurement of the block, the multiple that a rib or the text
// itself asks for.
func (e *engine) tie() {
	was := make([][]Tie, len(e.found))
	for i := range e.found {
		was[i] = e.found[i].ties[:len(e.found[i].ties):len(e.found[i].ties)]
	}
	before := len(e.problems())
	e.suggest()
	for _, p := range e.problems()[before:] {
		if p.diag.Severity == grammar.Error {
			for i := range e.found {
				e.found[i].ties = was[i]
			}
			return
		}
	}
}

func (e *engine) suggest() {
	for i := range e.found {
		c := &e.found[i]
		p, ok := c.mark.Phrase.(*grammar.CastOn)
		if !ok || c.off || p.Count == nil || c.added || c.has("added") {
			continue
		}
		if e.proposal != nil && p.Needles == 0 && p.Rest == nil {
			e.tieWidth(c, p)
		}
		e.tieMultiple(c, p)
	}
}

// widths are words of measurements that go round or across.
var widths = set(`chest bust width waist hip hips circumference round around hem wide`)

// tieWidth ties a cast-on to its width, where that comes to within a stitch and a half in every size.
func (e *engine) tieWidth(c *candidate, p *grammar.CastOn) {
	g := e.proposal.gauges[0]
	perCm := new(big.Rat).Quo(g.sts, g.cm)
	near := func(cm []*big.Rat, share int64) bool {
		for s, n := range sizesOf(p.Count, e.sizes) {
			x := cm[0]
			if len(cm) > 1 {
				x = cm[s]
			}
			off := new(big.Rat).Sub(n, new(big.Rat).Quo(new(big.Rat).Mul(x, perCm), big.NewRat(share, 1)))
			if off.Abs(off).Cmp(big.NewRat(3, 2)) > 0 {
				return false
			}
		}
		return true
	}
	if cm, text, ok := widthAfter(c); ok && near([]*big.Rat{cm}, 1) {
		c.ties = append(c.ties, Tie{Text: text, Why: "the text gives this width"})
		return
	}
	if g.guess != "" {
		return
	}
	for _, share := range []int64{1, 2} {
		for _, m := range e.proposal.measures {
			wide := false // a body's measure leads to no count: the ease is not in it
			for _, w := range strings.Fields(m.name) {
				wide = wide || widths[w]
			}
			if !wide || m.body || !e.measures || !near(m.cm, share) {
				continue
			}
			text, why := m.name, "it comes to this measurement"
			if share == 2 {
				text, why = m.name+" / 2", "it comes to half of this measurement"
			}
			c.ties = append(c.ties, Tie{Text: text, Why: why, Guess: true})
			return
		}
	}
}

func sizesOf(v *grammar.Value, n int) []*big.Rat {
	var out []*big.Rat
	for s := range n {
		out = append(out, v.Nums[min(s, len(v.Nums)-1)].Val)
	}
	return out
}

// tieMultiple ties a cast-on to the multiple that the text states, or that a rib in rounds needs.
func (e *engine) tieMultiple(c *candidate, p *grammar.CastOn) {
	w := c.stretch.Words
	for j := c.to; j < len(w) && j < c.to+14; j++ {
		if w[j].Key != "multiple" || j+2 >= len(w) || w[j+1].Key != "of" || w[j+2].Val == nil || !w[j+2].Val.IsInt() {
			continue
		}
		text := "multiple of " + plainNumber(w[j+2].Val)
		of, plus := w[j+2].Val.Num().Int64(), int64(0)
		k := j + 3
		for k < len(w) && (w[k].Key == "sts" || w[k].Key == "stitches") {
			k++
		}
		if k+1 < len(w) && (w[k].Key == "+" || w[k].Key == "plus") && w[k+1].Val != nil && w[k+1].Val.IsInt() {
			plus = w[k+1].Val.Num().Int64()
			text += " + " + plainNumber(w[k+1].Val)
		}
		if of > 1 && of < 1000 && plus < of {
			c.ties = append(c.ties, Tie{Text: text, Why: "the text asks for it"})
		}
		return
	}
	if p.Needles < 2 {
		return
	}
	if n := ribAfter(w, c.to); n > 1 {
		c.ties = append(c.ties, Tie{Text: "multiple of " + strconv.FormatInt(n, 10), Why: "a rib of so many goes round"})
	}
}

// ribAfter is the stitches of the first rib within a few words, 0 where none is told of: `knit 2, purl 2`, `ribs of 3 plain, 3 pearl`.
func ribAfter(w []grammar.Token, from int) int64 {
	knit := set(`k knit plain`)
	purl := set(`p purl pearl seam`)
	small := func(j int) (int64, bool) {
		if j < 0 || j >= len(w) || w[j].Kind != grammar.NumberToken || w[j].Val == nil || !w[j].Val.IsInt() || w[j].Ordinal || w[j].Times {
			return 0, false
		}
		n := w[j].Val.Num().Int64()
		return n, n > 0 && n < 10
	}
	beside := func(j int, words map[string]bool) (int64, bool) {
		n, ok := small(j)
		if !ok {
			return 0, false
		}
		return n, words[w[j-1].Key] && !(j+1 < len(w) && grammar.UnitOf(w[j+1].Key).IsRows()) || j+1 < len(w) && words[w[j+1].Key] && !rowsFollow(w, j+2)
	}
	for j := from; j < len(w) && j < from+26; j++ {
		if j == 0 {
			continue
		}
		a, ok := beside(j, knit)
		if !ok {
			continue
		}
		for k := j + 1; k < len(w) && k < j+5; k++ {
			if b, ok := beside(k, purl); ok {
				return a + b
			}
		}
		return 0
	}
	return 0
}

func rowsFollow(w []grammar.Token, j int) bool {
	for k := j; k < len(w) && k < j+2; k++ {
		if grammar.UnitOf(w[k].Key).IsRows() {
			return true
		}
	}
	return false
}
