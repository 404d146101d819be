package mark

import (
	"fmt"
	"slices"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// working is the text as it is marked, worked once: what is in hand after each thing that was found.
type working struct {
	draft *dsl.Draft
	marks []int // the mark of each candidate, -1
	stage [][]*dsl.Stage
}

// worked works the text as it is now marked.
func (e *engine) worked() *working {
	text, _, at := e.write()
	f, diags := grammar.Parse(e.name, text)
	if diags.Has(grammar.Error) {
		return nil
	}
	d, diags := dsl.Read(f)
	if d == nil || diags.Has(grammar.Error) || len(d.Runs) != e.sizes {
		return nil
	}
	w := &working{draft: d, marks: make([]int, len(e.found)), stage: make([][]*dsl.Stage, len(e.found))}
	byPlace := map[int]int{}
	for m := range f.Marks {
		byPlace[f.Marks[m].Span.Start] = m
	}
	for i := range e.found {
		w.marks[i] = -1
		m, ok := byPlace[at[i]]
		if !ok || at[i] < 0 {
			continue
		}
		w.marks[i] = m
		for _, r := range d.Runs {
			for k := range r.Stages {
				if r.Stages[k].Mark == m {
					w.stage[i] = append(w.stage[i], &r.Stages[k])
					break
				}
			}
		}
		if len(w.stage[i]) != len(d.Runs) {
			w.stage[i] = nil
		}
	}
	return w
}

// inHand is the count after candidate i in each size, nil where it is not known.
func (w *working) inHand(i int) []int64 {
	var out []int64
	for s, g := range w.stage[i] {
		if g.Side > 1 {
			return nil
		}
		out = append(out, g.Count.At(func(q int) int64 { return w.draft.Quantities[q].Drafted[s] }))
	}
	return out
}

// countSaid is the number of an instruction that says how many stitches there are after it, and on which its ties stand.
func countSaid(c *candidate) *grammar.Value {
	switch p := c.mark.Phrase.(type) {
	case *grammar.CastOn:
		if p.Needles == 0 && p.Rest == nil && !c.added {
			return p.Count
		}
	case *grammar.PickUp:
		return p.Count
	case *grammar.Statement:
		if p.Value.Unit == grammar.Stitches && !p.EachSide {
			return p.Value
		}
	case *grammar.Evenly:
		if p.Count == nil {
			return p.To
		}
	case *grammar.Shape:
		return p.Until
	case *grammar.Repeat:
		return p.Until
	case *grammar.Join:
		return p.Count
	}
	return nil
}

// countedAt is the count that candidate i says, in each size, where that is what is in hand after it.
func (e *engine) countedAt(w *working, i int) []int64 {
	v := countSaid(&e.found[i])
	if v == nil || e.found[i].off {
		return nil
	}
	hand := w.inHand(i)
	if len(hand) != e.sizes {
		return nil
	}
	for s, n := range sizesOf(v, e.sizes) {
		if n == nil || !n.IsInt() || !n.Num().IsInt64() || n.Num().Int64() != hand[s] {
			return nil
		}
	}
	return hand
}

// need is the multiple that a stitch pattern asks for: plus is below zero where the text does not say what is left over.
type need struct {
	of, plus int64
	said     string
	at       int  // the word it is told with
	bare     bool // `rib`, told of before
}

// tieMultiples ties the counts that a rib or another repeat is worked on to what the repeat asks for.
func (e *engine) tieMultiples() {
	w := e.worked()
	if w == nil {
		return
	}
	last, said := []int64(nil), false // what was in hand, and whether that was said
	e.ribsTold()
	for i := range e.found {
		c := &e.found[i]
		if c.off {
			continue
		}
		hand := w.inHand(i)
		same := said && slices.Equal(hand, last)
		if _, cast := c.mark.Phrase.(*grammar.CastOn); same && !cast {
			continue
		}
		n := e.countedAt(w, i)
		last, said = hand, n != nil
		if n == nil {
			if !e.saidNext(w, i, hand) {
				e.cannotTie(w, i, hand)
			}
			continue
		}
		for _, x := range e.needsOf(w, i, hand) {
			e.tieNeed(c, x, n)
		}
		e.dropImplied(c)
	}
}

// saidNext says whether the count after candidate i is said before anything else happens.
func (e *engine) saidNext(w *working, i int, hand []int64) bool {
	for k := i + 1; k < len(e.found) && (e.found[k].off || slices.Equal(w.inHand(k), hand)); k++ {
		if e.countedAt(w, k) != nil {
			return true
		}
	}
	return false
}

// ribsTold finds out whether the text tells of one rib only, so that `rib` alone means that one.
func (e *engine) ribsTold() {
	e.rib = need{}
	for si := range e.pl.Prose {
		s := &e.pl.Prose[si]
		for j := range s.Words {
			if !ribWords[s.Words[j].Key] {
				continue
			}
			of, from, to := e.ribAt(s.Words, j)
			switch {
			case of == 0:
			case e.rib.of == 0:
				e.rib = need{of: of, plus: -1, said: quoted(oneLine(e.pl.File.Text(grammar.Span{Start: s.Words[from].Span.Start, End: s.Words[to-1].Span.End})))}
			case e.rib.of != of:
				e.rib.of = -1
			}
		}
	}
}

// cannotTie notes a repeat after stitches were made or picked up whose number is not said.
func (e *engine) cannotTie(w *working, i int, hand []int64) {
	c := &e.found[i]
	switch c.mark.Phrase.(type) {
	case *grammar.Evenly, *grammar.PickUp:
	default:
		return
	}
	for _, x := range e.needsOf(w, i, hand) {
		c.notes = append(c.notes, fmt.Sprintf("%s: a multiple of %d cannot be kept, because the text does not say how many stitches there are then", x.said, x.of))
	}
}

// tieNeed ties a count to a multiple, where all sizes agree with it.
func (e *engine) tieNeed(c *candidate, x need, n []int64) {
	if x.of < 2 || x.of > 200 {
		return
	}
	plus := x.plus
	if plus < 0 {
		plus = n[0] % x.of
	}
	plus %= x.of
	var left []string
	agree := true
	for _, k := range n {
		agree = agree && k%x.of == plus
		left = append(left, fmt.Sprint(k%x.of))
	}
	if !agree {
		over := "leaves over " + list(left)
		c.notes = append(c.notes, fmt.Sprintf("%s: no multiple of %d is put here, because the count %s", x.said, x.of, over))
		return
	}
	t := fmt.Sprintf("multiple of %d", x.of)
	switch {
	case x.of == 2 && plus == 0:
		t = "even"
	case x.of == 2:
		t = "odd"
	case plus > 0:
		t += fmt.Sprintf(" + %d", plus)
	}
	for _, y := range c.ties {
		if y.Text == t {
			return
		}
	}
	why := x.said + " asks for it"
	if x.plus < 0 {
		why = "for " + x.said + ", by what the drafted count leaves over"
	}
	c.ties = append(c.ties, Tie{Text: t, Why: why, Guess: x.plus < 0 && len(n) == 1 && plus > 0})
}

// dropImplied takes out multiples that follow from others: even, beside a multiple of 4 + 2.
func (e *engine) dropImplied(c *candidate) {
	read := func(t string) (of, plus int64) {
		switch t {
		case "even":
			return 2, 0
		case "odd":
			return 2, 1
		}
		if n, _ := fmt.Sscanf(t, "multiple of %d + %d", &of, &plus); n > 0 {
			return of, plus
		}
		return 0, 0
	}
	c.ties = slices.DeleteFunc(c.ties[:len(c.ties):len(c.ties)], func(t Tie) bool {
		of, plus := read(t.Text)
		for _, o := range c.ties {
			if m, p := read(o.Text); of > 0 && m > of && m%of == 0 && p%of == plus {
				return true
			}
		}
		return false
	})
}

// maxAhead is how many words behind a count a repeat is looked for.
const maxAhead = 400

// needsOf are the multiples that the text asks for of the count after candidate i: right before it, and behind it until the count
// changes.
func (e *engine) needsOf(w *working, i int, hand []int64) []need {
	c := &e.found[i]
	var out []need
	_, cast := c.mark.Phrase.(*grammar.CastOn)
	if from := e.sentenceBefore(i); from < c.from {
		for _, x := range e.needsIn(c.stretch.Words[from:c.from]) {
			if cast || x.plus >= 0 && strings.HasPrefix(x.said, "`multiple") {
				out = append(out, x)
			}
		}
	}
	end := e.changesAfter(w, i, hand)
	seen, begun, stop := 0, false, false
	for si := range e.pl.Prose {
		s := &e.pl.Prose[si]
		from, to := 0, len(s.Words)
		if s == c.stretch {
			begun, from = true, c.to
		} else if begun && end < 0 && s.Heading && s.Under >= 0 && e.level(s) <= e.level(c.stretch) {
			break
		}
		if !begun {
			continue
		}
		if end >= 0 && s == e.found[end].stretch {
			to = e.found[end].from
		}
		if to = min(to, from+maxAhead-seen); from >= to {
			break
		}
		if k := e.changes(s, from, to); k < to {
			to, stop = k, true
		}
		for _, x := range e.needsIn(s.Words[from:to]) {
			if x.bare && len(out) > 0 {
				continue
			}
			if x.plus < 0 && !e.flatAt(w, s, from+x.at) {
				x.plus = 0 // it goes round
			}
			out = append(out, x)
		}
		seen += to - from
		if stop || seen >= maxAhead || end >= 0 && s == e.found[end].stretch {
			break
		}
	}
	return out
}

// alters are words of making and taking away stitches: where they stand unmarked, the count is not followed beyond them.
var alters = set(`inc inc'd increase increases increasing increased dec dec'd decrease decreases decreasing decreased evenly bind bo cast co pick m1 m1l m1r kfb gusset chart`)

// changes is the first word in [from, to) that tells of stitches made or taken away and is not marked, to where there is none.
func (e *engine) changes(s *grammar.Stretch, from, to int) int {
next:
	for k := from; k < to; k++ {
		if !alters[s.Words[k].Key] {
			continue
		}
		for i := range e.found {
			if c := &e.found[i]; !c.off && c.stretch == s && c.from <= k && k < c.to {
				continue next
			}
		}
		return k
	}
	return to
}

// level is how deep the heading is that a stretch stands under, or is.
func (e *engine) level(s *grammar.Stretch) int {
	if s.Under < 0 {
		return 0
	}
	return e.pl.File.Headings[s.Under].Level
}

// sentenceBefore is the word with which the sentence of candidate i begins, or the text after the one found before it.
func (e *engine) sentenceBefore(i int) int {
	c := &e.found[i]
	f := &finder{pl: e.pl, s: c.stretch, w: c.stretch.Words}
	from := c.from
	for from > 0 && c.from-from < 30 && f.w[from-1].Kind <= grammar.SignToken && !f.endsSentence(from-1) {
		from--
	}
	for k := i - 1; k >= 0; k-- {
		if o := &e.found[k]; !o.off && o.stretch == c.stretch {
			from = max(from, o.to)
			break
		}
	}
	return from
}

// changesAfter is the next candidate after which another count is in hand, -1.
func (e *engine) changesAfter(w *working, i int, hand []int64) int {
	for k := i + 1; k < len(e.found); k++ {
		if !e.found[k].off && w.marks[k] >= 0 && !slices.Equal(w.inHand(k), hand) {
			return k
		}
	}
	return -1
}

// flatAt says whether the work is in rows at a word.
func (e *engine) flatAt(w *working, s *grammar.Stretch, word int) bool {
	at := s.Words[word].Span.Start
	flat := true
	for k := range e.found {
		c := &e.found[k]
		if c.off || w.stage[k] == nil {
			continue
		}
		if c.span().Start > at {
			break
		}
		flat = w.stage[k][0].Flat
	}
	for k := word; k >= 0 && k > word-30; k-- {
		switch s.Words[k].Key {
		case "join", "joined", "rounds", "rnds", "round", "rnd", "dpns":
			return false
		case "row", "rows":
			return true
		}
	}
	return flat
}

var ribWords = set(`rib ribs ribbing ribbed`)

// needsIn are the multiples told of in some words.
func (e *engine) needsIn(w []grammar.Token) []need {
	var out []need
	said := func(a, b int) string {
		return quoted(oneLine(e.pl.File.Text(grammar.Span{Start: w[a].Span.Start, End: w[b-1].Span.End})))
	}
	for j := range w {
		switch k := w[j].Key; {
		case k == "multiple" || k == "multiples":
			if of, plus, end := multipleAt(w, j); end > 0 {
				out = append(out, need{of: of, plus: plus, said: said(j, end), at: j})
			}
		case (k == "even" || k == "odd") && j+1 < len(w) && w[j+1].Key == "number":
			n := need{of: 2, said: said(j, j+2), at: j}
			if k == "odd" {
				n.plus = 1
			}
			out = append(out, n)
		case ribWords[k]:
			if of, from, to := e.ribAt(w, j); of > 0 {
				out = append(out, need{of: of, plus: -1, said: said(from, to), at: j})
			} else if e.rib.of > 0 {
				out = append(out, need{of: e.rib.of, plus: -1, said: "rib, told of as " + e.rib.said, at: j, bare: true})
			}
		case k == "*" || k == "\\*":
			if n, ok := e.starAt(w, j); ok {
				n.said = said(j, n.at)
				n.at = j
				out = append(out, n)
			}
		}
	}
	return out
}

func wholeAt(w []grammar.Token, j int) (int64, bool) {
	if j < 0 || j >= len(w) || w[j].Kind != grammar.NumberToken || w[j].Val == nil || !w[j].Val.IsInt() || !w[j].Val.Num().IsInt64() || w[j].Ordinal || w[j].Times {
		return 0, false
	}
	n := w[j].Val.Num().Int64()
	return n, n > 0 && n < 1000
}

// multipleAt reads `multiple of 4 sts plus 2 sts` at word j.
func multipleAt(w []grammar.Token, j int) (of, plus int64, end int) {
	if j+1 >= len(w) || w[j+1].Key != "of" {
		return 0, 0, 0
	}
	of, ok := wholeAt(w, j+2)
	if !ok {
		return 0, 0, 0
	}
	k := j + 3
	unit := func() {
		for k < len(w) && grammar.UnitOf(w[k].Key) == grammar.Stitches {
			k++
		}
	}
	unit()
	if k < len(w) && grammar.UnitOf(w[k].Key).IsRows() {
		return 0, 0, 0 // `a multiple of 8 rows`
	}
	if k < len(w) && (w[k].Key == "+" || w[k].Key == "plus" || w[k].Key == "-" || w[k].Key == "minus") {
		if n, is := wholeAt(w, k+1); is && n < of {
			if plus = n; w[k].Key == "-" || w[k].Key == "minus" {
				plus = of - n
			}
			k += 2
			unit()
		}
	}
	return of, plus, k
}

// ribAt is how many stitches the rib at word j goes over, with the words that say so: `k2, p2 rib`, `2 x 2 rib`, `single rib`, `rib of k1, p1`.
func (e *engine) ribAt(w []grammar.Token, j int) (of int64, from, to int) {
	if j > 0 {
		switch w[j-1].Key {
		case "single":
			return 2, j - 1, j + 1
		case "double":
			return 4, j - 1, j + 1
		}
		for n := 1; n <= 3 && n <= j; n++ {
			var parts []string
			for _, t := range w[j-n : j] {
				parts = append(parts, t.Key)
			}
			var a, b int64
			text := strings.NewReplacer("×", "x", "/", "x", "*", "x", "by", "x").Replace(strings.Join(parts, ""))
			if k, err := fmt.Sscanf(text, "%dx%d", &a, &b); k == 2 && err == nil && a > 0 && b > 0 && a < 10 && b < 10 && fmt.Sprintf("%dx%d", a, b) == text {
				return a + b, j - n, j + 1
			}
		}
	}
	best := 0
	for n := 2; n <= 14 && n <= j; n++ {
		if x := e.knitAndPurl(w[j-n : j]); x > 0 {
			of, from, best = x, j-n, n
		}
	}
	if best > 0 {
		return of, from, j + 1
	}
	for a := j + 1; a < j+4 && a < len(w); a++ {
		for b := min(a+9, len(w)); b > a+1; b-- {
			if x := e.knitAndPurl(w[a:b]); x > 0 {
				return x, j, b
			}
		}
	}
	return 0, 0, 0
}

// knitAndPurl is how many stitches `k2, p2` goes over, 0 where the words are no such thing.
func (e *engine) knitAndPurl(w []grammar.Token) int64 {
	var plain []grammar.Token
	knit, purl := false, false
	for i, t := range w {
		switch t.Key {
		case "(", ")", "*", "[", "]", "/", "\\*", "x":
			if i > 0 && i < len(w)-1 && t.Key != "/" && t.Key != "x" {
				return 0
			}
			continue
		}
		c := strings.TrimLeft(t.Key, "0123456789")
		if t.Kind == grammar.WordToken && c != "" && !strings.Contains(" tbl st sts and ", " "+t.Key+" ") {
			knit = knit || c[0] == 'k'
			purl = purl || c[0] == 'p'
			if c[0] != 'k' && c[0] != 'p' || strings.Contains(t.Key, "tog") || strings.Contains(t.Key, "fb") {
				return 0
			}
		}
		plain = append(plain, t)
	}
	if !knit || !purl || plain[0].Kind == grammar.SignToken {
		return 0
	}
	takes, makes, ok := e.pl.RowText(plain)
	if !ok || takes != makes || takes > 40 {
		return 0
	}
	return takes
}

// starAt reads `k1, *k2, p2; rep from * to last 3 sts, k3` at its first star: of and plus, and in at where it ends.
func (e *engine) starAt(w []grammar.Token, j int) (need, bool) {
	star := func(i int) bool { return i < len(w) && (w[i].Key == "*" || w[i].Key == "\\*") }
	end := j + 1
	for end < len(w) && end < j+60 && w[end].Key != ";" && w[end].Key != "." && !star(end) && w[end].Key != "rep" && w[end].Key != "repeat" {
		end++
	}
	takes, makes, ok := e.pl.RowText(w[j+1 : min(end, len(w))])
	if !ok || takes != makes || takes < 2 {
		return need{}, false
	}
	k := end
	for k < len(w) && (w[k].Kind == grammar.SignToken && !star(k) && w[k].Key != "." || w[k].Key == "rep" || w[k].Key == "repeat" || w[k].Key == "from") {
		k++
	}
	if !star(k) {
		return need{}, false
	}
	k++
	n := need{of: takes}
	// what stands before it
	a := j
	for a > 0 && w[a-1].Key != ":" && w[a-1].Key != "." && w[a-1].Key != ";" && w[a-1].Kind <= grammar.SignToken && j-a < 24 {
		a--
	}
	if a < j {
		lead, made, ok := e.pl.RowText(w[a:j])
		switch {
		case ok && lead == made:
			n.plus += lead
		case w[j-1].Key != "," && w[j-1].Kind == grammar.WordToken:
			// `work as follows *k2, p2; …`: no row begins before it
		default:
			return need{}, false
		}
	}
	for k < len(w) && (w[k].Key == "to" || w[k].Key == "until" || w[k].Key == "the" || w[k].Key == "across" || w[k].Key == "around") {
		k++
	}
	switch {
	case k < len(w) && w[k].Key == "last":
		if m, ok := wholeAt(w, k+1); ok {
			n.plus += m
			k += 2
		} else {
			n.plus++
			k++
		}
	case k < len(w) && (w[k].Key == "end" || w[k].Key == "ending"):
		from := k + 1
		for from < len(w) && (w[from].Key == "with" || w[from].Key == "last" || w[from].Key == "rep") {
			from++
		}
		for to := min(from+8, len(w)); to > from; to-- {
			if tail, made, ok := e.pl.RowText(w[from:to]); ok && tail == made {
				n.plus += tail
				k = to
				break
			}
		}
	case k < len(w) && w[k].Key == ",":
		to := k + 1
		for to < len(w) && w[to].Key != "." && w[to].Key != ";" && w[to].Key != "—" && w[to].Kind <= grammar.SignToken {
			to++
		}
		tail, made, ok := e.pl.RowText(w[k+1 : to])
		if !ok || tail != made {
			return need{}, false
		}
		n.plus += tail
		k = to
	}
	n.at = min(k, len(w))
	return n, true
}
