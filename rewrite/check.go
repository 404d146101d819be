package rewrite

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// Check tells what working a draft at its own gauge and sizes shows beyond the faults that dsl.Read reported: notes on
// counts that are not the best whole number for the measurement they are tied to, lengths that do not read the same on a
// tape, rows whose numbers do not follow from the repeats between them, numbers in prose that no brace holds; and in a last line what was checked, so that silence means something.
func Check(d *dsl.Draft) (notes grammar.Diagnostics, summary string) {
	c := &converter{d: d, c: &Conversion{Draft: d, Proven: true}}
	c.old = d.DraftedGauges()
	c.now = c.old
	notes = append(notes, c.departed()...)
	notes = append(notes, c.lengthsDeparted()...)
	notes = append(notes, c.rowsNamed()...)
	notes = append(notes, c.loose()...)
	notes.Sort()
	return notes, c.summary()
}

// departed lists tied counts that the derivation would not have chosen itself: they are taken as meant.
func (c *converter) departed() grammar.Diagnostics {
	type entry struct {
		d     grammar.Diagnostic
		parts []string
	}
	seen := map[int]*entry{}
	var order []int
	for size, run := range c.d.Runs {
		for i := range run.Scores {
			sc := &run.Scores[i]
			if sc.Tie < 0 {
				continue
			}
			q := c.d.Quantities[sc.Tie]
			off, err := c.departure(run, i, size)
			if err != nil || off.off.Sign() == 0 || off.own == nil {
				continue
			}
			n := sc.Expr.At(func(q int) int64 { return q0(c.d, q, size) })
			best := sc.Expr.At(off.own.at)
			if n == best {
				continue
			}
			e := seen[sc.Tie]
			if e == nil {
				m := c.d.File.Marks[q.Mark]
				e = &entry{d: grammar.Diagnostic{Severity: grammar.Note, Span: m.PhraseSpan,
					Related: []grammar.Related{{Span: q.TieAt, Text: "it is tied to this"}},
					WayOut:  "leave it if it is meant: at another gauge it will aim as far over or under"}}
				seen[sc.Tie] = e
				order = append(order, sc.Tie)
			}
			unit := "sts"
			if sc.Rows {
				unit = "rows"
			}
			s := fmt.Sprintf("%d %s measure %s where %s are asked for; with all that hangs on it, %d would come nearest", n, unit, c.exact(off.drafted.Rat()), c.exact(off.tied.Rat()), best)
			if len(c.d.Sizes) > 1 {
				s = c.d.Sizes[size] + ": " + s
			}
			if !slices.Contains(e.parts, s) { // a twin says the same again
				e.parts = append(e.parts, s)
			}
		}
	}
	var out grammar.Diagnostics
	for _, q := range order {
		e := seen[q]
		e.d.Summary = e.parts[0]
		e.d.Detail = strings.Join(e.parts[1:], "; ")
		out = append(out, e.d)
	}
	return out
}

func q0(d *dsl.Draft, q, size int) int64 { return d.Quantities[q].Drafted[size] }

// exact is a length for a reader who compares, in the draft's own unit: to a tenth of a millimetre, or a hundredth of an inch.
func (c *converter) exact(x *big.Rat) string { return exactIn(x, c.d.Unit()) }

func exactIn(x *big.Rat, u grammar.Unit) string {
	if u == grammar.Inches {
		return decimal(dsl.RoundTo(new(big.Rat).Quo(x, unitCm(u)), big.NewRat(1, 100)), 2) + " in"
	}
	return decimal(dsl.RoundTo(x, big.NewRat(1, 100)), 2) + " cm"
}

// lengthsDeparted lists stated lengths that do not read the same on a tape as what they are tied to.
func (c *converter) lengthsDeparted() grammar.Diagnostics {
	var out grammar.Diagnostics
	for _, q := range c.d.Quantities {
		if q.Kind != dsl.Length || q.Tie == nil || q.Tie.Kind != dsl.Length {
			continue
		}
		var parts []string
		for s := range c.d.Sizes {
			f, err := c.d.Eval(q.Tie.Expr, c.d.DraftedSize(s), c.old)
			if err != nil {
				continue
			}
			said, _ := c.d.Stated(q, c.d.DraftedSize(s))
			u := q.Value.Unit
			if said.Cmp(f.Const) == 0 || tape(f.Const, u).Cmp(said) == 0 || dsl.CmText(said, u) == dsl.CmText(f.Const, u) {
				continue
			}
			x := fmt.Sprintf("%s are stated where %s are asked for", dsl.CmText(said, u), dsl.CmText(f.Const, u))
			if len(c.d.Sizes) > 1 {
				x = c.d.Sizes[s] + ": " + x
			}
			parts = append(parts, x)
		}
		if len(parts) > 0 {
			out = append(out, grammar.Diagnostic{Severity: grammar.Note, Span: c.d.File.Marks[q.Mark].PhraseSpan, Summary: parts[0], Detail: strings.Join(parts[1:], "; "),
				Related: []grammar.Related{{Span: q.TieAt, Text: "it is tied to this"}}, WayOut: "leave it if it is meant: it will aim as far over or under"})
		}
	}
	return out
}

// maxLoose is how many unmarked numbers are listed one by one: more is no list that anybody reads.
const maxLoose = 100

// loose lists numbers in prose that are neither marked nor part of a stitch pattern, so that nobody finds an old count in a
// new pattern.
func (c *converter) loose() grammar.Diagnostics {
	var out grammar.Diagnostics
	for i, l := range c.d.File.Loose {
		if i == maxLoose {
			out = append(out, grammar.Diagnostic{Severity: grammar.Note, Span: l.Span, Summary: fmt.Sprintf("%d more numbers from here on are not marked", len(c.d.File.Loose)-i)})
			break
		}
		out = append(out, grammar.Diagnostic{Severity: grammar.Note, Span: l.Span, Summary: fmt.Sprintf("`%s` is not marked, so it stays as it is at any gauge", l.Text),
			WayOut: "put braces round it if it is an instruction"})
	}
	return out
}

func (c *converter) summary() string {
	var rel, mult, tied, lengths int
	for _, r := range c.d.Runs {
		for _, x := range r.Relations {
			if x.Kind == dsl.Multiple && x.Why != "" {
				mult++
			} else {
				rel++
			}
		}
		for _, s := range r.Scores {
			if s.Tie >= 0 {
				tied++
			}
		}
		lengths += len(r.Lengths)
	}
	sizes := "one size"
	if n := len(c.d.Sizes); n > 1 {
		sizes = fmt.Sprintf("%d sizes", n)
	}
	count := func(n int, one, many string) string {
		if n == 1 {
			return "1 " + one
		}
		return fmt.Sprintf("%d %s", n, many)
	}
	loose := count(len(c.d.File.Loose), "number in the prose is not marked", "numbers in the prose are not marked")
	return fmt.Sprintf("checked %s in %s: %s, %s, %s, %s; %s", count(len(c.d.File.Marks), "marked instruction", "marked instructions"), sizes,
		count(rel, "sum or fit", "sums and fits"), count(mult, "multiple or side", "multiples and sides"), count(lengths, "length worked to", "lengths worked to"),
		count(tied, "count against its measurement", "counts against their measurements"), loose)
}
