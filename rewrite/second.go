package rewrite

import (
	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite/whole"
)

// Second is the second of a pair at a gauge of its own. It is worked from the same sentences as the first, which can only say the
// numbers of one of them: these are its own.
type Second struct {
	Name   string
	Gauge  AskedGauge
	Gauges []GaugeChange // from those of the first
	Says   []SaidAgain   // in the order of the draft
}

// SaidAgain is an instruction of the first and of the second, on one line each.
type SaidAgain struct {
	Mark          int
	First, Second string
}

// seconds converts the result once more for each piece that has a gauge of its own: everything that does not belong to it is
// knitted already, at the gauge of the first, so that it still meets what it is sewn or joined to.
func (c *converter) seconds() bool {
	for _, a := range c.r.Gauges {
		if a.Piece == "" || c.writtenOut(a) != nil {
			continue
		}
		f, diags := grammar.Parse(c.base.File.Name, c.c.New)
		d, more := dsl.Read(f)
		from, to, ok := c.base.Again(a.Piece)
		if d == nil || diags.Has(grammar.Error) || more.Has(grammar.Fault) || !ok || len(f.Marks) != len(c.base.File.Marks) {
			c.fail(c.base.Block.Span, "convert it for each gauge by itself", "%s cannot be given a gauge of its own here", a.Piece)
			return false
		}
		own := a
		own.Piece = ""
		x := &converter{d: d, base: d, r: Request{Gauges: []AskedGauge{own}}, c: &Conversion{Draft: d, Proven: true}, budget: whole.Budget, old: d.DraftedGauges()}
		x.done = func(mark int) bool { return mark < from || mark >= to }
		if !x.gauges() || !x.targets() {
			c.diags = append(c.diags, x.diags...)
			return false
		}
		x.given = x.now
		x.apart("of the first", func(mark int) bool {
			_, again := f.Marks[mark].Phrase.(*grammar.Twin) // what it works is the second
			return x.done(mark) && !again
		}, x.old)
		x.wishLengths()
		if x.sizesSolved() {
			x.measures()
			x.words()
		}
		for _, bad := range x.diags {
			if bad.Severity == grammar.Error {
				c.fail(c.base.File.Marks[from].Span, "give it a gauge nearer to that of the first, or knit both at one", "%s cannot be knitted at its own gauge beside the rest: %s", a.Piece, bad.Summary)
				return false
			}
		}
		s := Second{Name: a.Piece, Gauge: a, Gauges: x.c.Gauges[:len(x.given)]}
		for i := from; i < to; i++ {
			source := fold(f.Text(f.Marks[i].PhraseSpan))
			if len(x.c.Marks[i].Pieces) > 0 && source != "" {
				if _, skip := f.Marks[i].Phrase.(*grammar.Make); !skip {
					s.Says = append(s.Says, SaidAgain{i, c.c.Marks[i].text(fold(c.base.File.Text(c.base.File.Marks[i].PhraseSpan))), x.c.Marks[i].text(source)})
				}
			}
		}
		for _, text := range x.c.Assumptions {
			c.assume("Of %s: %s", a.Piece, lowerFirst(text))
		}
		for _, text := range x.c.Warnings {
			c.warn("Of %s: %s", a.Piece, lowerFirst(text))
		}
		c.c.Seconds = append(c.c.Seconds, s)
	}
	return true
}

// writtenOut says of each marked instruction whether it belongs to the piece that a gauge is asked for, where that has sentences of its
// own; else it is nil.
func (c *converter) writtenOut(a AskedGauge) func(mark int) bool {
	if _, _, again := c.base.Again(a.Piece); a.Piece == "" || again {
		return nil
	}
	in, _ := c.base.WrittenOut(a.Piece)
	return in
}

// ownGauges gives a piece with sentences of its own the gauge that is asked for it: they are worked out by that, and the others by
// theirs.
func (c *converter) ownGauges() bool {
	for _, a := range c.r.Gauges {
		in := c.writtenOut(a)
		if in == nil {
			continue
		}
		if c.r.Knitted != "" {
			c.fail(c.base.Block.Span, "convert the rest without it first, and the piece from that", "%s cannot have a gauge of its own while something else is knitted already", a.Piece)
			return false
		}
		alone := a
		alone.Piece = ""
		own := &converter{d: c.base, r: Request{Gauges: []AskedGauge{alone}}, c: &Conversion{Draft: c.base}, old: c.base.DraftedGauges()}
		if !own.gauges() {
			c.diags = append(c.diags, own.diags...)
			return false
		}
		for _, text := range own.c.Assumptions {
			c.assume("Of %s: %s", a.Piece, lowerFirst(text))
		}
		c.apart(a.Piece, in, own.now)
		c.warn("%s is worked out for a gauge of its own, %s. The draft's block gives that of the rest.", upper(a.Piece), a.Text)
	}
	return true
}
