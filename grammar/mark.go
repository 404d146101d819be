package grammar

import (
	"regexp"
	"slices"
	"sort"
	"strings"
)

// scanned is a marked instruction cut at its bar.
type scanned struct {
	phrase []raw
	ties   []raw
	bar    int // offset of the bar, -1 where there is none
}

// scanMark cuts the inside of a mark at its first bar. `\|` is the bar as tables ask for it.
func (p *fileParser) scanMark(m *foundMark) scanned {
	for i, s := range m.inside {
		at := strings.IndexByte(p.text[s.Start:s.End], '|')
		if at < 0 {
			continue
		}
		at += s.Start
		bar := at
		if bar > m.span.Start && p.text[bar-1] == '\\' {
			bar--
		}
		end := at
		if escaped(p.text[s.Start:at]) {
			end--
		}
		phrase := append(append([]Span(nil), m.inside[:i]...), Span{s.Start, end})
		ties := append([]Span{{at + 1, s.End}}, m.inside[i+1:]...)
		return scanned{p.scan(phrase, false), p.scan(ties, true), bar}
	}
	return scanned{p.scan(m.inside, false), nil, -1}
}

// escaped says whether what follows the text stands behind a backslash that is not itself behind one.
func escaped(text string) bool {
	return (len(text)-len(strings.TrimRight(text, `\`)))%2 == 1
}

// collectNames gathers every name of the marked instructions, so that the longest known one can be read.
func (p *fileParser) collectNames() {
	src := p.text
	p.cut = make([]scanned, len(p.found))
	for k, m := range p.found {
		c := p.scanMark(m)
		p.cut[k] = c
		depth, begins := 0, true
		for i := 0; i < len(c.ties); i++ {
			r := &c.ties[i]
			if begins && r.kind == rawWord && r.key == "as" {
				from := i + 1
				for from < len(c.ties) && articles[c.ties[from].key] {
					from++
				}
				j := from
				for j < len(c.ties) && (c.ties[j].kind != rawPunct || strings.Contains("-'&/", c.ties[j].key)) {
					j++
				}
				if j > from {
					p.names.label(wordOf(src, c.ties, from, j).Key)
				}
				i = j - 1
				continue
			}
			begins = false
			if r.kind == rawPunct {
				switch r.key {
				case "(", "[":
					depth++
				case ")", "]":
					depth--
				case ",":
					begins = depth <= 0
				}
			}
		}
		rs := joinHyphens(c.phrase)
		for i := range rs {
			if rs[i].kind != rawWord || rs[i].key != "as" {
				continue
			}
			from := i + 1
			for from < len(rs) && (articles[rs[from].key] || rs[from].key == "for") {
				from++
			}
			j := from
			for j < len(rs) && rs[j].kind != rawPunct && !(rs[j].kind == rawWord && stopWords[rs[j].key]) && (rs[j].kind == rawWord || rs[j].spelled && !rs[j].times || j > from && (j+1 == len(rs) || rs[j+1].kind == rawPunct)) {
				j++
			}
			if j > from && rs[from].key != "set" && rs[from].key != "established" && rs[from].key != "before" {
				p.names.label(wordOf(src, rs, from, j).Key)
			}
		}
	}
}

func (p *fileParser) readMarks() {
	for k, m := range p.found {
		mark := &Mark{Span: m.span, Heading: m.heading, InTable: m.table}
		p.f.Marks = append(p.f.Marks, mark)
		if len(*p.diags) < maxReports {
			p.readMark(mark, p.cut[k])
		}
	}
	p.goesOn()
}

// goesOn finds the shaping that `then at each end of every row 4 times` goes on with: the one in the brace before it.
func (p *fileParser) goesOn() {
	for k, m := range p.f.Marks {
		s, ok := m.Phrase.(*Shape)
		if !ok || !s.Then {
			continue
		}
		var before *Shape
		if k > 0 {
			before, _ = p.f.Marks[k-1].Phrase.(*Shape)
		}
		if before == nil {
			p.report(Diagnostic{Severity: Error, Span: m.PhraseSpan, Summary: "this goes on with shaping, but none is marked right before it", WayOut: "say what is done: `decrease 1 st at each end of …`"})
			continue
		}
		s.GoesOn, s.Increase = before, before.Increase
		if s.Where.Ends == Unplaced && len(s.Where.Parts) == 0 {
			s.Where = before.Where
		}
	}
}

func (p *fileParser) readMark(mark *Mark, c scanned) {
	end := mark.Span.End - 1
	bar := end
	if c.bar >= 0 {
		bar = c.bar
		mark.BarSpan = Span{bar, end}
	}
	rs := c.phrase
	// `{— 90 sts}`, `{: 90 sts}`, and a closing full stop
	for len(rs) > 0 && rs[0].kind == rawPunct && strings.Contains("-—:,;.…", rs[0].key) {
		rs = rs[1:]
	}
	for len(rs) > 0 && rs[len(rs)-1].kind == rawPunct && strings.Contains(".,;:…!-—", rs[len(rs)-1].key) {
		if rs[len(rs)-1].key == "." && len(rs) > 1 && unitWords[rs[len(rs)-2].key] != NoUnit && len(rs) > 2 && rs[len(rs)-3].kind == rawNum {
			// `15 in.` may be the abbreviation's own full stop; it stays outside all the same
			rs = rs[:len(rs)-1]
			break
		}
		rs = rs[:len(rs)-1]
	}
	if len(rs) == 0 {
		mark.PhraseSpan = Span{min(mark.Span.Start+1, bar), min(mark.Span.Start+1, bar)}
		p.report(Diagnostic{Severity: Error, Span: mark.Span, Summary: "nothing stands in this brace", WayOut: `write an instruction in it, or \{ for a brace that is only a brace`})
		return
	}
	mark.PhraseSpan = Span{rs[0].span.Start, rs[len(rs)-1].span.End}
	for _, list := range [][]raw{rs, c.ties} {
		if d := tooLongNumber(list); d != nil {
			p.report(*d)
			return
		}
		if deep, at := bracketDepth(list); deep > MaxNesting {
			p.report(Diagnostic{Severity: Error, Span: at, Summary: "brackets are nested too deep", Detail: "At most " + itoa(MaxNesting) + " are read."})
			return
		}
	}
	before := len(*p.diags)
	p.readPhrase(mark, rs)
	if c.bar >= 0 && len(*p.diags) == before {
		p.readTies(mark, c.ties, Span{mark.BarSpan.Start, end})
	}
	if len(*p.diags) == before {
		p.meant(mark)
	}
	if ns, ok := mark.Phrase.(*NextSide); ok && ns.Side == WS {
		p.f.WrongSide = append(p.f.WrongSide, mark.PhraseSpan)
	}
}

// meant settles what the words of an instruction leave open, by the readings after its bar.
func (p *fileParser) meant(mark *Mark) {
	for _, t := range mark.Ties {
		r, ok := t.(*TieReading)
		if !ok {
			continue
		}
		if r.Of == InWords {
			mark.Told = &Told{Rows: r.Num, Change: r.Sts}
			continue
		}
		fits := true
		switch ph := mark.Phrase.(type) {
		case *CastOn:
			switch r.Of {
			case Added:
				ph.More = true
			case OnNeedles:
				ph.Needles = r.Num
			default:
				fits = r.Of == TakenUpHere
			}
		case *Divide:
			ph.ForGood = ph.ForGood || r.Of == ForGood
			fits = r.Of == ForGood || r.Of == TakenUpHere
		case *Statement:
			if fits = r.Of == TakenUpHere || r.Of == PickedUpHere && ph.Value.Unit == Stitches; r.Of == PickedUpHere && fits {
				mark.Phrase = &PickUp{Count: ph.Value}
			}
		case *Hold:
			ph.ForGood = ph.ForGood || r.Of == ForGood
			fits = r.Of == ForGood || r.Of == TakenUpHere
		case *Work:
			if fits = r.Of == TakenUpHere || r.Of == FromPlace && ph.From == nil; r.Of == FromPlace && fits {
				ph.From, ph.To = placeWord(*r.Name), true
			}
		case *Repeat:
			switch r.Of {
			case InAll:
				ph.InAll, ph.More = true, true
			case MoreTimes:
				ph.More = true
			default:
				fits = r.Of == TakenUpHere
			}
		case *Shape:
			switch fits = r.Of == TakenUpHere; r.Of {
			case BothEnds:
				ph.Where.Ends, fits = EachEnd, true
			case InRows:
				ph.InRows = r.Num
				fits = len(ph.Clauses) == 1 && ph.Clauses[0].Kind == OneRow && ph.Until == nil && !ph.Meanwhile && r.Num > 0 && r.Num < 1000
			case InAll, MoreTimes:
				for _, c := range ph.Clauses {
					if c.Kind == NextAnd {
						fits = true
						if r.Of == InAll {
							c.Kind = OnNext
						}
					}
				}
			}
		case *Twin:
			if fits = r.Of == TakenUpHere || r.Of == ToPlace && ph.To == nil; r.Of == ToPlace && fits {
				ph.To = r.Name
			}
		default:
			fits = r.Of == TakenUpHere
		}
		if !fits {
			p.report(Diagnostic{Severity: Error, Span: r.Span, Summary: "`" + fold(p.text[r.Span.Start:r.Span.End]) + "` says nothing of this instruction", WayOut: "leave it out"})
			return
		}
		mark.TakenUp = mark.TakenUp || r.Of == TakenUpHere
	}
	if h, ok := mark.Phrase.(*Hold); ok && h.Name == nil {
		for _, t := range mark.Ties {
			if a, ok := t.(*TieAs); ok {
				h.Name = &a.Name
				mark.Ties = slices.DeleteFunc(mark.Ties, func(x Tie) bool { return x == t })
				break
			}
		}
		if h.Name == nil && !h.ForGood {
			p.report(Diagnostic{Severity: Error, Span: mark.PhraseSpan, Summary: "what is the held work called?", Detail: "It is taken up again by its name.",
				WayOut: "write `hold 30 sts as left front`, or `… for good` if it never comes back"})
		}
	}
}

// placeWord is the name of a place, with the built-in ones in one spelling.
func placeWord(w Word) *Word {
	if key, ok := places[w.Key]; ok {
		w.Key = key
	}
	return &w
}

func (p *fileParser) readPhrase(mark *Mark, rs []raw) {
	src := p.text
	rs = p.onlySizes(mark, rs)
	if len(rs) == 0 {
		p.report(Diagnostic{Severity: Error, Span: mark.PhraseSpan, Summary: "what do these sizes do?", WayOut: "write the instruction after the colon: `sizes L and XL only: work 2 rows`"})
		return
	}
	if ph := nextSide(rs); ph != nil {
		mark.Phrase, mark.RowWord = ph, Rows
		return
	}
	if ph := p.sizesSaid(rs); ph != nil {
		mark.Phrase = ph
		return
	}
	if ph := p.onNeedles(rs); ph != nil {
		mark.Phrase = ph
		return
	}
	if ph := p.spelledOut(rs); ph != nil {
		mark.Phrase = ph
		return
	}
	t := phraseTokens(src, rs, p.names, p.toks)
	p.toks = t.list[:0]
	if len(t.unknown) > 0 {
		p.report(p.notUnderstood(t, t.unknown[0]))
		return
	}
	s, at, ok := parsePhrase(t.tokens)
	if !ok {
		p.report(phraseProblem(src, t, at, mark))
		return
	}
	mark.Ending, mark.RowWord = t.side, t.rowWord
	l := &lowerer{src: src, t: t.tokens, names: p.names, mark: mark, diags: p.diags}
	ph := l.phrase(s)
	if l.bad {
		return
	}
	if ph == nil {
		p.report(Diagnostic{Severity: Error, Span: mark.PhraseSpan, Summary: "this instruction cannot be read"})
		return
	}
	l.checkLists(ph)
	if !l.bad {
		mark.Phrase = ph
	}
}

// parsePhrase hands the tokens to the instruction's grammar where they begin with a verb, as most do, else to the whole.
func parsePhrase(t *tokens) (s *phraseSyntax, at int, ok bool) {
	if len(t.list) > 0 && t.list[0].typ == tVerb {
		do, at, ok := verbForm.parse(t)
		return &phraseSyntax{Do: do}, at, ok
	}
	return phraseForm.parse(t)
}

// notUnderstood words that a word has no meaning in an instruction, with the nearest one that has.
func (p *fileParser) notUnderstood(t *phraseReader, i int) Diagnostic {
	if k := strangeStroke(t.rs); k >= 0 {
		s := t.rs[k].span
		return Diagnostic{Severity: Error, Span: s, Summary: "`" + fold(p.text[s.Start:s.End]) + "` is no stitch that is understood in a repeat",
			Detail: "What it takes up and what it makes is not known.", WayOut: "use k, p, sl, yo, m1, k2tog, ssk and their like, or leave the repeat outside the brace and state the count after it"}
	}
	r := t.rs[i]
	text := fold(p.text[r.span.Start:r.span.End])
	d := Diagnostic{Severity: Error, Span: r.span, Summary: "`" + text + "` is not understood here"}
	if r.kind == rawWord {
		if n := nearest(r.key, vocabularyWords, p.names.all); n != "" {
			d.WayOut = "did you mean " + n + "?"
			return d
		}
	}
	switch {
	case r.kind == rawWord && strings.ContainsAny(r.key, "0123456789"):
		d.Detail = "Stitch patterns are the designer's own and stand outside braces."
		d.WayOut = "leave it outside the brace"
	case t.verb == "" && len(t.list) == 0:
		d.Detail = "An instruction begins with what is done (cast on, work, decrease, …) or with a count."
		d.WayOut = `leave it outside the brace, or write \{ for a brace that is only a brace`
	default:
		d.WayOut = "leave it outside the brace"
	}
	return d
}

// phraseProblem words why the parts of an instruction do not fit together.
func phraseProblem(src string, t *phraseReader, at int, mark *Mark) Diagnostic {
	d := Diagnostic{Severity: Error, Span: mark.PhraseSpan, Summary: "this instruction ends too early"}
	if t.depth > 0 {
		for i := range t.list {
			if t.list[i].typ == tOpen {
				d.Span, d.Summary = t.list[i].span, "this bracket is never closed"
			}
		}
		return d
	}
	if at >= len(t.list) {
		return d
	}
	k := &t.list[at]
	d.Span = k.span
	text := "`" + fold(src[k.span.Start:k.span.End]) + "`"
	switch k.typ {
	case tVerb:
		d.Summary = "two instructions stand in one brace"
		d.Detail = "The second begins with " + text + "."
		d.WayOut = "give each a brace of its own"
	case tOpen, tClose, tSep:
		d.Summary = text + " was not expected here"
		d.Detail = "Brackets hold one number for each size, or the same length in another unit."
		d.WayOut = "write `98 (106, 114) sts`, or `38 cm [15 in]`"
	default:
		d.Summary = text + " was not expected here"
		if at > 0 && t.list[at-1].typ == tRel {
			d.Detail = "It follows `" + fold(src[t.list[at-1].span.Start:t.list[at-1].span.End]) + "`."
		}
	}
	return d
}

func (p *fileParser) readTies(mark *Mark, rs []raw, whole Span) {
	src := p.text
	if len(rs) == 0 {
		p.report(Diagnostic{Severity: Error, Span: whole, Summary: "nothing stands after the bar", WayOut: "write what the number follows, or take the bar out"})
		return
	}
	t := &exprReader{src: src, rs: rs, names: p.names, tokens: &tokens{list: slices.Grow(p.toks, len(rs)+1)}, strange: -1, ties: true}
	for t.i < len(t.rs) {
		t.step()
	}
	p.toks = t.list[:0]
	s, at, ok := tiesForm.parse(t.tokens)
	if !ok || t.strange >= 0 {
		d := exprProblem(src, t, at, Span{rs[0].span.Start, rs[len(rs)-1].span.End}, "the tie")
		if t.strange >= 0 && rs[t.strange].key == "|" {
			d.Summary = "a second bar"
			d.WayOut = "separate ties with commas"
		}
		p.report(d)
		return
	}
	l := &lowerer{src: src, t: t.tokens, names: p.names, mark: mark, diags: p.diags}
	ties := l.ties(s)
	if !l.bad {
		mark.Ties = append(mark.Ties, ties...)
	}
}

// onlySizes takes `sizes L and XL only:` off the front.
func (p *fileParser) onlySizes(mark *Mark, rs []raw) []raw {
	only := -1
	for i := 0; i < len(rs) && i < 40; i++ {
		if rs[i].kind == rawWord && rs[i].key == "only" {
			only = i
			break
		}
	}
	if only < 1 {
		return rs
	}
	i := 0
	for i < only && (rs[i].key == "for" || rs[i].key == "in" || articles[rs[i].key]) {
		i++
	}
	said := rs[i].key == "sizes" || rs[i].key == "size"
	if said {
		i++
	}
	var list []Word
	for i < only {
		if rs[i].kind == rawPunct && strings.Contains(",+&/()", rs[i].key) || rs[i].key == "and" || rs[i].key == "or" {
			i++
			continue
		}
		j := i
		if n, k := matchName(p.names.sizes, rs[:only], i); n > 0 && k&aSize != 0 {
			j = i + n
		} else {
			for j < only && !(rs[j].kind == rawPunct && strings.Contains(",+&/()", rs[j].key)) && rs[j].key != "and" && rs[j].key != "or" {
				j++
			}
			if !said {
				return rs
			}
		}
		list = append(list, wordOf(p.text, rs, i, j))
		i = j
	}
	if len(list) == 0 {
		return rs
	}
	mark.Only = list
	rs = rs[only+1:]
	for len(rs) > 0 && rs[0].kind == rawPunct && strings.Contains(":,;-—.", rs[0].key) {
		rs = rs[1:]
	}
	return rs
}

var nextSideForm = regexp.MustCompile(`^(?:the )?(?:next row|next round|first row|row 1|row one|1st row)(?: (?:is|=|:|,|will be|should be|-|—))?(?: an?| the)?(?: \()?(?: an?)? (ws|rs|wrong side|right side|wrong - side|right - side|wrong-side|right-side)(?: row| round)?(?: \))?$`)

// nextSide reads `next row is a WS row`, `Row 1 (WS)`.
func nextSide(rs []raw) Phrase {
	switch rs[0].key {
	case "the", "next", "first", "row", "1st":
	default:
		return nil
	}
	if len(rs) > 14 {
		return nil
	}
	keys := make([]string, len(rs))
	for i := range rs {
		keys[i] = rs[i].key
	}
	m := nextSideForm.FindStringSubmatch(strings.Join(keys, " "))
	if m == nil {
		return nil
	}
	if m[1][0] == 'w' {
		return &NextSide{Side: WS}
	}
	return &NextSide{Side: RS}
}

// sizesSaid reads `S (M, L)` where it can only be the list of sizes.
func (p *fileParser) sizesSaid(rs []raw) Phrase {
	said := false
	if rs[0].key == "sizes" || rs[0].key == "size" {
		said = true
		rs = rs[1:]
		if len(rs) > 0 && rs[0].key == ":" {
			rs = rs[1:]
		}
	}
	if len(rs) == 0 {
		return nil
	}
	if !said {
		if n, _ := matchName(p.names.sizes, rs, 0); n == 0 {
			return nil
		}
	}
	aged := len(rs)
	rs = withoutAge(rs)
	said = said || len(rs) < aged
	words := sizeWords(p.text, rs)
	own := false
	for _, b := range p.f.Blocks {
		if b.Sizes == nil || len(b.Sizes.Names) != len(words) {
			continue
		}
		own = true
		for i := range words {
			own = own && words[i].Key == b.Sizes.Names[i].Key
		}
	}
	if !own {
		for _, w := range words {
			if _, number := NumberValue(w.Key); number && !said {
				return nil // a size may be called 32, and so may a count
			}
			ws := scanText(w.Key, false)
			if n, k := matchName(p.names.sizes, ws, 0); n != len(ws) || k&aSize == 0 {
				return nil
			}
		}
	}
	l, d := parseSizes(p.text, rs, p.names, spanOfRaws(nil, rs))
	if d != nil {
		return nil
	}
	return &SizesSaid{List: *l}
}

// checkLists reports lists of values in one phrase that do not have the same length: each holds one value a size.
func (l *lowerer) checkLists(ph Phrase) {
	var sizes *Value
	eachValue(ph, func(v *Value) {
		if len(v.Nums) < 2 || l.bad {
			return
		}
		if sizes == nil {
			sizes = v
			return
		}
		if len(sizes.Nums) != len(v.Nums) {
			l.bad = true
			*l.diags = append(*l.diags, Diagnostic{Severity: Error, Span: v.NumSpan,
				Summary: "this list has " + itoa(len(v.Nums)) + " values, another in the same brace has " + itoa(len(sizes.Nums)),
				Detail:  "A list holds one value for each size.", Related: []Related{{sizes.NumSpan, "the other list"}}})
		}
	})
}

func (p *fileParser) sortNotes() {
	sort.Slice(p.f.WrongSide, func(i, j int) bool { return p.f.WrongSide[i].Start < p.f.WrongSide[j].Start })
}
