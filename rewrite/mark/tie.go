package mark

import (
	"fmt"
	"math/big"
	"slices"
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
	known := map[string]bool{}
	for _, p := range e.problems() {
		known[p.key()] = true
	}
	e.suggest()
	for range maxTrials {
		p := e.newProblem(known)
		if p == nil {
			return
		}
		if p.of >= 0 && len(e.found[p.of].ties) > len(was[p.of]) {
			e.found[p.of].ties = was[p.of]
			continue
		}
		for i := range e.found {
			e.found[i].ties = was[i]
		}
		return
	}
}

// newProblem is the first problem that is not known, nil where there is none: what is proposed must not make one, but where a rib that
// goes round does not divide the stitches, the text contradicts itself.
func (e *engine) newProblem(known map[string]bool) *problem {
	for _, p := range e.problems() {
		if !known[p.key()] && p.diag.Check != "multiple" {
			return &p
		}
	}
	return nil
}

func (e *engine) suggest() {
	e.tieMultiples()
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
	e.relate()
	e.relateSecond()
	e.namePlaces()
}

// widths are words of measurements that go round or across.
var widths = set(`chest bust width waist hip hips circumference round around hem wide`)

// round are words of a body's measurements that small things are knitted to without ease.
var round = set(`foot hand head wrist ankle leg calf thumb`)

// tieWidth ties a cast-on to its width, where that comes to within a stitch and a half in every size, or within half a repeat of its
// stitch pattern, which cannot come nearer. A small thing that is as wide as the body in every size is knitted to that measure.
func (e *engine) tieWidth(c *candidate, p *grammar.CastOn) {
	g := e.proposal.gauges[0]
	perCm := new(big.Rat).Quo(g.sts, g.cm)
	repeat := big.NewRat(1, 2) // half a stitch, or half a repeat
	for _, t := range c.ties {
		var of int64
		if n, _ := fmt.Sscanf(t.Text, "multiple of %d", &of); n == 1 && of > 3 {
			repeat = big.NewRat(of, 2)
		}
	}
	allowed := maxRat(big.NewRat(3, 2), repeat)
	near := func(cm []*big.Rat, share int64, allowed *big.Rat) bool {
		for s, n := range sizesOf(p.Count, e.sizes) {
			x := cm[0]
			if len(cm) > 1 {
				x = cm[s]
			}
			off := new(big.Rat).Sub(n, new(big.Rat).Quo(new(big.Rat).Mul(x, perCm), big.NewRat(share, 1)))
			if off.Abs(off).Cmp(allowed) > 0 {
				return false
			}
		}
		return true
	}
	if cm, text, ok := widthAfter(c); ok && near([]*big.Rat{cm}, 1, allowed) {
		c.ties = append(c.ties, Tie{Text: text, Why: "the text gives this width"})
		return
	}
	if g.guess != "" {
		return
	}
	var fits []Tie
	var first *measure
	for _, share := range []int64{1, 2} {
		for k := range e.proposal.measures {
			m := &e.proposal.measures[k]
			wide, small := false, false
			for _, w := range strings.Fields(m.name) {
				wide = wide || widths[w]
				small = small || round[w]
			}
			within := allowed
			if m.body {
				// a body's measure leads to no count where the ease is not in it
				wide, within = wide && small && share == 1, repeat
			}
			ok := wide && e.measures && near(m.cm, share, within)
			if !ok || first != nil && sameLengths(first.cm, m.cm) {
				continue
			}
			if first == nil {
				first = m
			}
			text, why := m.name, "it comes to this measurement"
			if share == 2 {
				text, why = m.name+" / 2", "it comes to half of this measurement"
			}
			fits = append(fits, Tie{Text: text, Why: why, Guess: true})
		}
	}
	switch {
	case len(fits) == 1:
		c.ties = append([]Tie{fits[0]}, c.ties...)
	case len(fits) > 1:
		var names []string
		for _, t := range fits {
			names = append(names, t.Text)
		}
		c.notes = append(c.notes, "it comes to "+strings.Join(names, " and to ")+" alike: which of them it follows is yours to say")
	}
}

func maxRat(a, b *big.Rat) *big.Rat {
	if a.Cmp(b) < 0 {
		return b
	}
	return a
}

// sameLengths says whether two measurements are alike in every size, so that it makes no odds which of them a count follows.
func sameLengths(a, b []*big.Rat) bool {
	return slices.EqualFunc(a, b, func(x, y *big.Rat) bool { return x.Cmp(y) == 0 })
}

func sizesOf(v *grammar.Value, n int) []*big.Rat {
	var out []*big.Rat
	for s := range n {
		out = append(out, v.Nums[min(s, len(v.Nums)-1)].Val)
	}
	return out
}

// tieMultiple ties a cast-on on several needles to the multiple that a rib in rounds needs.
func (e *engine) tieMultiple(c *candidate, p *grammar.CastOn) {
	if p.Needles < 2 {
		return
	}
	if x, y := ribAfter(e.following(c)); x+y > 1 {
		c.ties = append(c.ties, Tie{Text: "multiple of " + strconv.FormatInt(x+y, 10), Why: "a rib of so many goes round"})
	}
}

// ribAfter is the knit and the purl stitches of the first rib within a few words, none where none is told of: `knit 2, purl 2`, `ribs of 3
// plain, 3 pearl`.
func ribAfter(w []grammar.Token) (k, p int64) {
	knit, purl := set(`k knit plain`), set(`p purl pearl seam`)
	for j := 0; j < len(w) && j < 30; j++ {
		if a, b := crossed(w, j); a > 0 {
			return a, b
		}
		a := strokesAt(w, j, knit)
		if a == 0 {
			continue
		}
		for i := j + 1; i < len(w) && i < j+5; i++ {
			if b := strokesAt(w, i, purl); b > 0 {
				return a, b
			}
		}
		return 0, 0
	}
	return 0, 0
}

// crossed is a rib written `2 x 2 rib` or `2x2 rib`.
func crossed(w []grammar.Token, j int) (k, p int64) {
	if j+2 < len(w) && len(w[j+1].Key) == 2 && w[j+1].Key[0] == 'x' && w[j+1].Key[1] > '0' && w[j+1].Key[1] <= '9' && strings.HasPrefix(w[j+2].Key, "rib") {
		return few(w, j), int64(w[j+1].Key[1] - '0')
	}
	if j+3 >= len(w) || w[j+1].Key != "x" && w[j+1].Key != "by" || w[j+3].Key != "rib" && w[j+3].Key != "ribbing" {
		return 0, 0
	}
	return few(w, j), few(w, j+2)
}

// few is the number at word j where it is a small one, 0 where there is none.
func few(w []grammar.Token, j int) int64 {
	if j < 0 || j >= len(w) || w[j].Kind != grammar.NumberToken || w[j].Val == nil || !w[j].Val.IsInt() || w[j].Ordinal || w[j].Times {
		return 0
	}
	if n := w[j].Val.Num().Int64(); n > 0 && n < 10 {
		return n
	}
	return 0
}

// strokesAt is how many stitches of a kind are told of at word j: `k2`, `knit 2`, `2 plain`, `one purl`; 0 where none are.
func strokesAt(w []grammar.Token, j int, words map[string]bool) int64 {
	if k := w[j].Key; w[j].Kind == grammar.WordToken && len(k) == 2 && words[k[:1]] && k[1] > '0' && k[1] <= '9' {
		return int64(k[1] - '0')
	}
	n := few(w, j)
	switch {
	case n == 0:
	case j > 0 && words[w[j-1].Key] && !(j+1 < len(w) && grammar.UnitOf(w[j+1].Key).IsRows()):
		return n
	case j+1 < len(w) && words[w[j+1].Key] && !rowsFollow(w, j+2):
		return n
	}
	return 0
}

// following is the words behind a candidate, in its paragraph and the next.
func (e *engine) following(c *candidate) []grammar.Token {
	out := c.stretch.Words[c.to:]
	for i := range e.pl.Prose {
		if &e.pl.Prose[i] == c.stretch && i+1 < len(e.pl.Prose) && !e.pl.Prose[i+1].Heading && e.pl.Prose[i+1].Under == c.stretch.Under {
			return append(out[:len(out):len(out)], e.pl.Prose[i+1].Words...)
		}
	}
	return out
}

func rowsFollow(w []grammar.Token, j int) bool {
	for k := j; k < len(w) && k < j+2; k++ {
		if grammar.UnitOf(w[k].Key).IsRows() {
			return true
		}
	}
	return false
}
