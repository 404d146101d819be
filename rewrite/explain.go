package rewrite

import (
	"errors"
	"fmt"
	"io"
	"math/big"
	"strings"
	"unicode"
	"unicode/utf8"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite/whole"
)

// Reason is why one instruction's numbers are what they are, in sentences.
type Reason struct {
	Title string       // the instruction, as the result has it
	Where grammar.Span // in the draft
	Lines []string
}

// Explain says why numbers are what they are. which holds names (`as NAME`, a measure, which means what follows it, or a piece) or
// places, "line:column", inside a marked instruction; none means every instruction that has a number. A name or place that is not there
// is an error.
func Explain(c *Conversion, which []string) ([]Reason, error) {
	var out []Reason
	for i := 0; i < len(c.Draft.File.Marks) && len(which) == 0; i++ {
		if r := c.reason(i); len(r.Lines) > 0 {
			out = append(out, r)
		}
	}
	for _, w := range which {
		marks, err := c.find(w)
		if err != nil {
			return nil, err
		}
		for _, i := range marks {
			if r := c.reason(i); len(r.Lines) > 0 || len(marks) == 1 {
				out = append(out, r)
			}
		}
	}
	return out, nil
}

// find is the marked instructions that a name or a place means.
func (c *Conversion) find(which string) ([]int, error) {
	f := c.Draft.File
	var line, col int
	if n, err := fmt.Sscanf(which, "%d:%d", &line, &col); err == nil && n == 2 {
		for i, m := range f.Marks {
			l0, c0 := f.Position(m.Span.Start)
			l1, c1 := f.Position(m.Span.End)
			if (line > l0 || line == l0 && col >= c0) && (line < l1 || line == l1 && col < c1) {
				return []int{i}, nil
			}
		}
		return nil, fmt.Errorf("no marked instruction stands at %s", which)
	}
	key := grammar.Key(which)
	var names []string
	if i := f.Labelled(key); i >= 0 {
		return []int{i}, nil
	}
	for _, m := range f.Marks {
		for _, name := range m.Labels() {
			names = append(names, name.Text)
		}
	}
	for _, q := range c.Draft.Quantities {
		if q.Name != "" && grammar.Key(q.Name) == key {
			return []int{q.Mark}, nil
		}
	}
	for _, m := range c.Draft.Measures {
		if m.Name.Key == key {
			if marks := c.following(key); len(marks) > 0 {
				return marks, nil
			}
			return nil, fmt.Errorf("no marked instruction follows %s: tie one to it, `| %s`", which, m.Name.Text)
		}
		names = append(names, m.Name.Text)
	}
	if marks := f.Under(key); len(marks) > 0 {
		return marks, nil
	}
	way := "name an instruction with `as NAME`, or give its line:column"
	if best := grammar.Nearest(key, names); best != "" {
		way = "did you mean " + best + "?"
	} else if len(names) > 0 {
		way = "the names are " + strings.Join(names, ", ")
	}
	return nil, fmt.Errorf("nothing in the draft is called %s: %s", which, way)
}

// following is the marked instructions that are tied to a measure, or to one that is reckoned from it.
func (c *Conversion) following(key string) []int {
	meant := map[string]bool{key: true}
	uses := func(e grammar.Expr) (yes bool) {
		grammar.EachName(e, func(n grammar.Word) { yes = yes || meant[n.Key] })
		return yes
	}
	for range c.Draft.Measures { // as many times as one can hang on the next
		for _, m := range c.Draft.Measures {
			if uses(m.Expr) {
				meant[m.Name.Key] = true
			}
		}
	}
	var out []int
	for i, m := range c.Draft.File.Marks {
		for _, t := range m.Ties {
			if e, ok := t.(*grammar.TieExpr); ok && uses(e.Expr) {
				out = append(out, i)
				break
			}
		}
	}
	return out
}

// reason gathers what is to be said of one instruction, size by size.
func (c *Conversion) reason(i int) Reason {
	m := c.Draft.File.Marks[i]
	r := Reason{Where: m.Span}
	var text strings.Builder
	for _, p := range c.Marks[i].Pieces {
		text.WriteString(p.Text)
	}
	r.Title = fold(text.String())
	for t, s := range c.solved {
		in := ""
		if len(c.Targets) > 1 {
			in = s.target.Name + ": "
		}
		for _, l := range c.sizeReason(i, t, s) {
			if !contains(r.Lines, in+l) { // a twin says it again
				r.Lines = append(r.Lines, in+l)
			}
		}
	}
	return r
}

func (c *Conversion) sizeReason(i, t int, s *solved) []string {
	var out []string
	v := func(q int) int64 { return s.values[q] }
	for k := range s.run.Lengths {
		l := &s.run.Lengths[k]
		if l.Mark != i || s.length[k] == nil {
			continue
		}
		before := l.Before.Cm(v, c.Fabrics)
		left := new(big.Rat).Sub(s.length[k], before)
		x := new(big.Rat).Mul(left, c.Fabrics[l.Fabric].Rows)
		rows := s.values[l.Rows]
		got := new(big.Rat).Add(before, new(big.Rat).Quo(rat(rows), c.Fabrics[l.Fabric].Rows))
		step := "the nearest row"
		if l.Step == 2 {
			step = "the nearest row that ends on the right side of the cloth for what follows"
		}
		out = append(out, fmt.Sprintf("%s are asked for; %s are worked already, and the other %s would be %s rows. %s is %d rows, %s in all.",
			c.exact(s.length[k]), c.exact(before), c.exact(left), decimal(x, 2), upper(step), rows, c.exact(got)))
	}
	for k := range s.run.Scores {
		if s.run.Scores[k].Mark != i || s.run.Scores[k].Expr.IsConst() {
			continue
		}
		out = append(out, c.scoreReason(t, s, k))
	}
	for k := range s.run.Relations {
		rel := &s.run.Relations[k]
		if rel.Mark != i || rel.Kind == dsl.Costly || rel.Kind == dsl.AtLeast {
			continue
		}
		if line := "It had to hold that " + strings.TrimPrefix(rel.Why, "it had to hold that ") + "."; !contains(out, line) {
			out = append(out, line)
		}
	}
	return out
}

// exact is a length in the draft's own unit.
func (c *Conversion) exact(x *big.Rat) string { return exactIn(x, c.Draft.Unit()) }

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

func upper(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// one is the unit for so many: `1 stitch`, `2 stitches`.
func one(unit, number string) string {
	if number == "1" {
		return map[string]string{"stitches": "stitch", "rows": "row"}[unit]
	}
	return unit
}

// scoreReason says where a size comes from, the exact quotient, what was chosen, and what the next choice would have cost.
func (c *Conversion) scoreReason(t int, s *solved, k int) string {
	sc := &s.run.Scores[k]
	v := func(q int) int64 { return s.values[q] }
	n := sc.Expr.At(v)
	per, unit := c.Fabrics[sc.Fabric].Stitches, "stitches"
	if sc.Rows {
		per, unit = c.Fabrics[sc.Fabric].Rows, "rows"
	}
	wish := s.wanted[k].Rat()
	var b strings.Builder
	name := "the width it takes at one edge is"
	if sc.Rows {
		name = "its height is"
	}
	switch {
	case sc.Count:
		name = "the stitches after it are"
	case sc.Tie >= 0:
		name = "it is"
	case len(sc.Expr.Terms) == 1 && !c.Draft.Quantities[sc.Expr.Terms[0].Quantity].Hidden():
		name = "it is"
	}
	fmt.Fprintf(&b, "%s wished to measure %s", upper(name), c.exact(wish))
	switch {
	case sc.Tie >= 0:
		q := c.Draft.Quantities[sc.Tie]
		fmt.Fprintf(&b, " (%s", c.Draft.File.Text(q.TieAt))
		if d := s.depart[k]; d != nil {
			over := "over"
			if d.Sign() < 0 {
				over = "under"
			}
			fmt.Fprintf(&b, ", and the draft itself goes %s %s", c.exact(new(big.Rat).Abs(d)), over)
		}
		b.WriteString(")")
	default:
		b.WriteString(", as in the draft")
	}
	exact := new(big.Rat).Mul(wish, per)
	if len(sc.Panels) == 0 {
		over, wide := big.NewRat(10, 1), "10 cm"
		if c.Draft.Unit() == grammar.Inches {
			over, wide = new(big.Rat).Mul(big.NewRat(4, 1), unitCm(grammar.Inches)), "4 in"
		}
		fmt.Fprintf(&b, "; at %s %s to %s that is %s %s", decimal(new(big.Rat).Mul(per, over), 2), unit, wide, decimal(exact, 2), one(unit, decimal(exact, 2)))
	}
	fmt.Fprintf(&b, ". It comes to %d %s, %s", n, one(unit, fmt.Sprint(n)), c.exact(sc.Cm(v, c.Fabrics)))
	if d := c.draftedOf(s, sc); d != n {
		fmt.Fprintf(&b, " (drafted: %d)", d)
	}
	b.WriteString(".")
	if alt := c.alternative(t, s, k, n, exact); alt != "" {
		b.WriteString(" " + alt)
	}
	return b.String()
}

func (c *Conversion) draftedOf(s *solved, sc *dsl.Score) int64 {
	return sc.Expr.At(func(q int) int64 { return c.Draft.Quantities[q].Drafted[s.target.Base()] })
}

// alternative says what the next better-looking number would have broken.
func (c *Conversion) alternative(t int, s *solved, k int, n int64, exact *big.Rat) string {
	sc := &s.run.Scores[k]
	g := s.model.groupOf(sc.Expr)
	if g < 0 || !s.changed[g] || len(sc.Panels) > 0 {
		return ""
	}
	near := dsl.RoundTo(exact, big.NewRat(1, 1)).Num().Int64()
	try := near
	if near == n {
		// The nearest was taken: the next best lies on the other side of the wish.
		try = n + 1
		if exact.Cmp(rat(n)) < 0 {
			try = n - 1
		}
	}
	terms, constant := s.model.linear(sc.Expr)
	p := *s.model.problem
	p.Rules = append(favoured(p.Rules, terms), whole.Rule{Kind: whole.Equal, Terms: terms, Const: constant - try, Rank: 20})
	a, err := p.Solve(whole.Budget / 10)
	var bad *whole.Contradiction
	switch {
	case errors.As(err, &bad):
		var why []string
		for _, r := range bad.Rules {
			if r < len(s.model.rules) {
				if w := s.model.why(r); !contains(why, w) {
					why = append(why, w)
				}
			}
		}
		if len(why) == 0 {
			return fmt.Sprintf("%d cannot be.", try)
		}
		return fmt.Sprintf("%d cannot be: %s.", try, strings.Join(why, "; "))
	case err != nil:
		return ""
	}
	if try == near && near != n {
		var moved []string
		for i, q := range s.model.vars {
			if a.X[i] != s.values[q] && len(moved) < 3 {
				x := c.Draft.Quantities[q]
				line, _ := c.Draft.File.Position(c.Draft.File.Marks[x.Mark].Span.Start)
				moved = append(moved, fmt.Sprintf("%s in line %d would be %d, not %d", x.Role, line, a.X[i], s.values[q]))
			}
		}
		return fmt.Sprintf("%d would be nearer, but then the rest fits worse: %s.", near, strings.Join(moved, ", "))
	}
	return fmt.Sprintf("%d would be further off.", try)
}

// favoured is the rules with those on the unknowns given ranked to stay when a smallest contradicting set is looked for, the
// shortest first: `99 is no multiple of 4` says more than how it travels round the draft.
func favoured(rules []whole.Rule, terms []whole.Term) []whole.Rule {
	out := append([]whole.Rule(nil), rules...)
	for i := range out {
		for _, t := range out[i].Terms {
			for _, x := range terms {
				if t.Var == x.Var && out[i].Rank < 9 {
					out[i].Rank = max(out[i].Rank, 9-min(len(out[i].Terms), 8))
				}
			}
		}
	}
	return out
}

// Model writes the whole problem, one size after the other, in the LP format that general-purpose integer solvers read.
// With several sizes each is a file of its own between comment lines; most solvers want one: convert a single size.
func (c *Conversion) Model(w io.Writer) error {
	for _, s := range c.solved {
		if _, err := fmt.Fprintf(w, "\\ size %s\n", s.target.Name); err != nil {
			return err
		}
		if err := s.model.named().WriteLP(w, s.answer); err != nil {
			return err
		}
	}
	return nil
}
