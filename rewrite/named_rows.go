package rewrite

import (
	"fmt"
	"math/big"
	"regexp"
	"strconv"
	"strings"

	"gaugewright/grammar"
)

// namedRow is a row that the prose tells under its number: `37th row:`, `Row 5 (RS):`, `Rows 7-10:`.
type namedRow struct {
	first, last int64
	span        grammar.Span
}

// rowNames follows the numbers that rows are told under, from one repeat of a single row to the next name: `2nd row: … Repeat the 2nd
// row 34 times more. 37th row: …` must add up, and so must a number of rows said with the repeat.
type rowNames struct {
	out     grammar.Diagnostics
	row     *namedRow // the last one told
	fromOne bool      // all rows since the first are accounted for
	again   *grammar.Mark
	times   int64
	said    int64 // rows said right behind the repeat, 0 where none are
	saidAt  grammar.Span
	unclear bool // more follows the repeat than can be followed
}

var tellsRows = regexp.MustCompile(`(?i)\b(row|round|rnd)s?\b`)

// rowsNamed compares the names of rows with the repeats between them.
func (c *converter) rowsNamed() grammar.Diagnostics {
	f := c.d.File
	if !tellsRows.Match(f.Src) {
		return nil
	}
	pl, _ := grammar.ReadPlain(f.Name, f.Src)
	if pl == nil {
		return nil
	}
	var n rowNames
	for i := range pl.Prose {
		s := &pl.Prose[i]
		if s.Heading {
			n = rowNames{out: n.out}
			continue
		}
		for j := 0; j < len(s.Words); {
			if row, to := rowNameAt(s.Words, j); row != nil {
				n.next(row)
				j = to
				continue
			}
			j = n.take(f, s.Words, j)
		}
	}
	return n.out
}

// rowNameAt reads the name of a row, or of several in a row, with the sign that ends it.
func rowNameAt(w []grammar.Token, j int) (*namedRow, int) {
	from := j
	number := func(ordinal bool) (int64, bool) {
		if j >= len(w) || w[j].Kind != grammar.NumberToken || w[j].Ordinal != ordinal || w[j].Val == nil || !w[j].Val.IsInt() || !w[j].Val.Num().IsInt64() {
			return 0, false
		}
		j++
		return w[j-1].Val.Num().Int64(), true
	}
	rowWord := func() bool {
		if j < len(w) && w[j].Kind == grammar.WordToken && grammar.UnitOf(w[j].Key).IsRows() {
			j++
			return true
		}
		return false
	}
	sign := func(keys string) bool {
		if j < len(w) && w[j].Kind == grammar.SignToken && strings.Contains(keys, w[j].Key) {
			j++
			return true
		}
		return false
	}
	row := &namedRow{}
	var ok bool
	if row.first, ok = number(true); ok {
		row.last = row.first
		ok = rowWord()
	} else if rowWord() {
		row.first, ok = number(false)
		row.last = row.first
		if ok && sign("-") {
			row.last, ok = number(false)
		}
	}
	if !ok || row.last < row.first {
		return nil, from
	}
	row.span = grammar.Span{Start: w[from].Span.Start, End: w[j-1].Span.End}
	if sign("(") {
		for j < len(w) && !sign(")") {
			j++
		}
	}
	sign(".")
	if !sign(":-—") {
		return nil, from
	}
	return row, j
}

// take goes over one word that belongs to no name of a row; what it gives is the next one.
func (n *rowNames) take(f *grammar.File, w []grammar.Token, j int) int {
	t := &w[j]
	if t.Kind == grammar.MarkToken && t.Mark != nil {
		if times, ok := n.repeats(f, t.Mark); ok && n.again == nil {
			n.again, n.times = t.Mark, times
		} else {
			n.unclear = true
		}
		return j + 1
	}
	if n.again == nil {
		return j + 1
	}
	if t.Kind == grammar.NumberToken && !t.Ordinal && t.Val != nil && t.Val.IsInt() && j+1 < len(w) && grammar.UnitOf(w[j+1].Key).IsRows() && n.said == 0 {
		n.said, n.saidAt = t.Val.Num().Int64(), grammar.Span{Start: t.Span.Start, End: w[j+1].Span.End}
		return j + 2
	}
	switch t.Key {
	case "repeat", "rep", "until", "till", "continue", "cont", "work", "knit", "k", "purl", "p", "more", "row", "rows", "round", "rounds":
		n.unclear = true
	}
	return j + 1
}

// A row that a repeat names by its number, in figures or in words.
var (
	rowByNumber = regexp.MustCompile(`(?i)\b([0-9]+)(?:st|nd|rd|th|d)\b|\b(?:repeat|rep|the)\s+(?:row|round|rnd)\s+([0-9]+)\b`)
	rowByWord   = regexp.MustCompile(`(?i)\b(first|second|third|[a-z]+th)\s+(row|round|rnd)\b`)
)

// repeats says how often a mark repeats the row that was told last, and nothing else.
func (n *rowNames) repeats(f *grammar.File, m *grammar.Mark) (int64, bool) {
	p, ok := m.Phrase.(*grammar.Repeat)
	if !ok || n.row == nil || p.Until != nil || len(p.Clauses) > 0 || p.Times == nil || len(p.Times.Nums) != 1 {
		return 0, false
	}
	text := f.Text(m.PhraseSpan)
	switch at := rowByNumber.FindStringSubmatch(text); {
	case at != nil:
		ok = at[1]+at[2] == strconv.FormatInt(n.row.last, 10)
	case rowByWord.MatchString(text):
		ok = false
	case p.LastRows == nil:
		ok = p.Row == nil || strings.HasPrefix(p.Row.Key, "last") || strings.HasPrefix(p.Row.Key, "this")
	default:
		v := p.LastRows.Nums[0].Val
		ok = len(p.LastRows.Nums) == 1 && (v == nil || v.Cmp(big.NewRat(1, 1)) == 0)
	}
	v := p.Times.Nums[0].Val
	if !ok || v == nil || !v.IsInt() || !v.Num().IsInt64() {
		return 0, false
	}
	return v.Num().Int64(), true
}

// next takes up the next name.
func (n *rowNames) next(row *namedRow) {
	was := n.row
	switch {
	case row.first == 1:
		n.fromOne = true
	case was == nil:
	case n.again == nil || n.unclear || row.first <= was.last:
		n.fromOne = n.fromOne && row.first == was.last+1 && !n.unclear
	default:
		p := n.again.Phrase.(*grammar.Repeat)
		reached := was.last + n.times
		inAll := !p.More && row.first == reached // `repeat … 4 times` may count the first
		if row.first != reached+1 && !inAll {
			n.fromOne = false
			n.out = append(n.out, grammar.Diagnostic{Severity: grammar.Warning, Span: row.span,
				Summary: fmt.Sprintf("row %d is told next, but the rows before it go to %d", row.first, reached),
				Detail:  fmt.Sprintf("row %d and %d times more", was.last, n.times),
				Related: []grammar.Related{{Span: was.span, Text: fmt.Sprintf("row %d", was.last)}, {Span: n.again.PhraseSpan, Text: "it is repeated here"}},
				WayOut:  "correct the times, or the number of the row"})
		} else if n.fromOne && n.said > 0 && n.said != row.first-1 {
			n.out = append(n.out, grammar.Diagnostic{Severity: grammar.Warning, Span: n.saidAt,
				Summary: fmt.Sprintf("%d rows are said here, but %d are worked before row %d", n.said, row.first-1, row.first),
				Related: []grammar.Related{{Span: n.again.PhraseSpan, Text: fmt.Sprintf("row %d and %d times more", was.last, n.times)}, {Span: row.span, Text: "told next"}},
				WayOut:  "correct the number that is wrong, or say which rows are counted"})
		}
	}
	*n = rowNames{out: n.out, row: row, fromOne: n.fromOne}
}
