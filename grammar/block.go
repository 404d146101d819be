package grammar

import "strings"

// statement is one line of a block, with the lines that continue it, its comment cut off.
type statement struct {
	span   Span
	pieces []Span
	rs     []raw // its tokens; none where it is longer than MaxMark
}

func (s *statement) tooLong() bool { return s.span.End-s.span.Start > MaxMark }

// statements cuts a block's lines into statements. A statement goes on over the next line while a bracket is open, or
// where it ends with a sign or a comma.
func (p *fileParser) statements(lines []Span) []statement {
	src := p.text
	var out []statement
	open := false
	depth := 0
	for _, s := range lines {
		line := src[s.Start:s.End]
		cut := len(line)
		for i := 0; i+1 < len(line); i++ {
			if line[i] == '-' && line[i+1] == '-' {
				cut = i
				break
			}
		}
		a := 0
		for a < cut && (line[a] == ' ' || line[a] == '\t') {
			a++
		}
		b := cut
		for b > a && strings.IndexByte(" \t\r\n", line[b-1]) >= 0 {
			b--
		}
		if a == b {
			if cut == len(line) {
				open, depth = false, 0
			}
			continue
		}
		piece := Span{s.Start + a, s.Start + b}
		if open {
			last := &out[len(out)-1]
			last.pieces = append(last.pieces, piece)
			last.span.End = piece.End
		} else {
			out = append(out, statement{span: piece, pieces: []Span{piece}})
			depth = 0
		}
		text := src[piece.Start:piece.End]
		depth += strings.Count(text, "(") + strings.Count(text, "[") - strings.Count(text, ")") - strings.Count(text, "]")
		open = depth > 0 || strings.IndexByte("+-*/=,(", text[len(text)-1]) >= 0
	}
	for i := range out {
		if s := &out[i]; !s.tooLong() {
			s.rs = p.scan(s.pieces, true)
		}
	}
	return out
}

func (p *fileParser) readBlocks() {
	for _, f := range p.fences {
		b := &Block{Kind: f.kind, Span: f.span, Body: f.body}
		p.f.Blocks = append(p.f.Blocks, b)
		if f.open {
			p.report(Diagnostic{Severity: Error, Span: Span{f.span.Start, min(f.span.Start+3, f.span.End)}, Summary: "this block is never closed",
				Detail: "Everything after its first line counts as part of it.", WayOut: "close it with a line of its own that holds the same marks as the first"})
		}
	}
	// Names first: where they are known, the longest wins. Nothing is read in a block that is never closed: what stands in it is
	// the rest of the file.
	for i, f := range p.fences {
		if f.open {
			continue
		}
		for _, s := range f.said {
			p.nameOf(p.f.Blocks[i], s)
		}
	}
	for i, f := range p.fences {
		if f.open {
			continue
		}
		for _, s := range f.said {
			if len(*p.diags) < maxReports {
				p.statement(p.f.Blocks[i], s)
			}
		}
	}
}

// head splits a statement at its first colon or equals sign outside brackets.
func head(rs []raw) (sign string, at int) {
	depth := 0
	for i := range rs {
		if rs[i].kind != rawPunct {
			continue
		}
		switch rs[i].key {
		case "(", "[":
			depth++
		case ")", "]":
			depth--
		case ":", "=":
			if depth == 0 {
				return rs[i].key, i
			}
		}
	}
	return "", -1
}

func (p *fileParser) nameOf(b *Block, s statement) {
	if s.tooLong() {
		return
	}
	rs := s.rs
	sign, at := head(rs)
	if b.Kind == SwatchBlock || at < 1 {
		return
	}
	switch {
	case sign == ":" && rs[0].key == "fabric" && at > 1:
		p.names.add(wordOf(p.text, rs, 1, at).Key, aFabric)
	case sign == "=":
		p.names.add(wordOf(p.text, rs, 0, at).Key, aMeasure)
	case sign == ":" && (rs[0].key == "sizes" || rs[0].key == "size"):
		for _, w := range sizeWords(p.text, withoutAge(rs[at+1:])) {
			p.names.add(w.Key, aSize)
		}
	}
}

// sizeWords is every run of tokens between brackets and commas.
func sizeWords(src string, rs []raw) []Word {
	var out []Word
	for i := 0; i < len(rs); {
		if rs[i].kind == rawPunct && strings.Contains("()[],;:", rs[i].key) {
			i++
			continue
		}
		j := i
		for j < len(rs) && !(rs[j].kind == rawPunct && strings.Contains("()[],;:", rs[j].key)) {
			j++
		}
		out = append(out, wordOf(src, rs, i, j))
		i = j
	}
	return out
}

var gaugeKeys = map[string]bool{"x": true, "to": true, "over": true, "in": true, "per": true, "for": true, "by": true, "and": true, "make": true, "measure": true, "unwashed": true, "washed": true}

func (p *fileParser) statement(b *Block, s statement) {
	src := p.text
	if s.tooLong() {
		p.report(Diagnostic{Severity: Error, Span: Span{s.span.Start, s.span.Start + 1}, Summary: "this statement is too long", Detail: "At most " + itoa(MaxMark) + " bytes are read.", WayOut: "name parts of it as measures of their own"})
		return
	}
	rs := s.rs
	if len(rs) == 0 {
		p.report(Diagnostic{Severity: Error, Span: s.span, Summary: "this line says nothing that can be read", WayOut: "begin a comment with --"})
		return
	}
	if d := tooLongNumber(rs); d != nil {
		p.report(*d)
		return
	}
	if deep, at := bracketDepth(rs); deep > MaxNesting {
		p.report(Diagnostic{Severity: Error, Span: at, Summary: "brackets are nested too deep", Detail: "At most " + itoa(MaxNesting) + " are read.", WayOut: "name the inner part as a measure of its own"})
		return
	}
	sign, at := head(rs)
	if b.Kind == SwatchBlock {
		p.swatchStatement(b, s, rs, sign, at)
		return
	}
	switch {
	case rs[0].key == "notation" && sign == "":
		p.notation(b, s, rs)
	case rs[0].key == "sized" && len(rs) > 2 && rs[1].key == "by" && b.Kind == DraftBlock:
		w := wordOf(src, rs, 2, len(rs))
		b.SizedBy = &w
	case sign == ":" && rs[0].key == "fabric" && b.Kind == DraftBlock:
		p.fabric(b, s, rs, at)
	case sign == ":" && (rs[0].key == "sizes" || rs[0].key == "size") && at == 1 && b.Kind == DraftBlock:
		l, d := parseSizes(src, withoutAge(rs[2:]), p.names, s.span)
		if d != nil {
			p.report(*d)
			return
		}
		if b.Sizes != nil {
			p.report(Diagnostic{Severity: Error, Span: s.span, Summary: "the sizes are given twice", Related: []Related{{b.Sizes.Span, "the first list"}}, WayOut: "keep one list"})
			return
		}
		b.Sizes = l
	case sign == "=":
		if m, d := parseMeasure(src, rs, at, p.names, s.span); d != nil {
			p.report(*d)
		} else {
			b.Measures = append(b.Measures, m)
		}
	default:
		d := Diagnostic{Severity: Error, Span: s.span, Summary: "this statement cannot be read",
			WayOut: "a block holds `fabric NAME: …`, `sizes: …`, `sized by NAME`, `notation 1` and `NAME = …`"}
		if b.Kind == BodyBlock {
			d.WayOut = "a body card holds `NAME = …`, one measurement a line"
		}
		if rs[0].kind == rawWord {
			if n := nearest(rs[0].key, []string{"fabric", "sizes", "sized", "notation"}); n != "" {
				d.Span = rs[0].span
				d.Summary = "`" + fold(src[rs[0].span.Start:rs[0].span.End]) + "` begins no statement"
				d.WayOut = "did you mean " + n + "?"
			}
		}
		p.report(d)
	}
}

func tooLongNumber(rs []raw) *Diagnostic {
	for i := range rs {
		if rs[i].kind == rawNum && rs[i].val == nil {
			return &Diagnostic{Severity: Error, Span: rs[i].span, Summary: "this number is too long", Detail: "At most " + itoa(maxDigits) + " digits are read."}
		}
	}
	return nil
}

func bracketDepth(rs []raw) (deepest int, at Span) {
	depth := 0
	for i := range rs {
		if rs[i].kind != rawPunct {
			continue
		}
		switch rs[i].key {
		case "(", "[":
			if depth++; depth > deepest {
				deepest, at = depth, rs[i].span
			}
		case ")", "]":
			depth--
		}
	}
	minus := 0
	for i := range rs {
		if rs[i].kind == rawPunct && rs[i].key == "-" {
			if minus++; minus > MaxNesting && minus > deepest {
				deepest, at = minus, rs[i].span
			}
		} else {
			minus = 0
		}
	}
	return deepest, at
}

func (p *fileParser) notation(b *Block, s statement, rs []raw) {
	if len(rs) != 2 || rs[1].kind != rawNum {
		p.report(Diagnostic{Severity: Error, Span: s.span, Summary: "the edition of the notation is a number", WayOut: "write `notation 1`"})
		return
	}
	n := Num{Span: rs[1].span, Text: p.f.Text(rs[1].span), Val: rs[1].val}
	b.Notation = &n
}

func (p *fileParser) fabric(b *Block, s statement, rs []raw, at int) {
	src := p.text
	if at == 1 {
		p.report(Diagnostic{Severity: Error, Span: rs[0].span, Summary: "this fabric has no name", WayOut: "write `fabric main: 20 sts and 28 rows to 10 cm`"})
		return
	}
	f := &FabricDef{Span: s.span, Name: wordOf(src, rs, 1, at)}
	rest := rs[at+1:]
	cut := len(rest)
	for i := range rest {
		if rest[i].kind == rawWord && rest[i].key == "unwashed" {
			cut = i
			break
		}
	}
	washed := rest[:cut]
	if n := len(washed); cut < len(rest) && n > 0 && washed[n-1].key == "," {
		washed = washed[:n-1]
	}
	g, d := parseGauge(src, washed, p.names, spanOfRaws(rs[at:at+1], washed), true)
	if d != nil {
		p.report(*d)
		return
	}
	f.Gauge = *g
	if cut < len(rest) {
		un := rest[cut+1:]
		if len(un) > 0 && un[0].key == ":" {
			un = un[1:]
		}
		g, d := parseGauge(src, un, p.names, spanOfRaws(rest[cut:cut+1], un), true)
		if d != nil {
			p.report(*d)
			return
		}
		f.Unwashed = g
	}
	b.Fabrics = append(b.Fabrics, f)
}

func spanOfRaws(head, rs []raw) Span {
	if len(rs) == 0 {
		return head[len(head)-1].span
	}
	return Span{rs[0].span.Start, rs[len(rs)-1].span.End}
}

// parseGauge reads `20 sts and 28 rows to 10 cm`; rows may be left out unless needRows.
func parseGauge(src string, rs []raw, n *names, whole Span, needRows bool) (*GaugeText, *Diagnostic) {
	const form = "write `20 sts and 28 rows to 10 cm`"
	if len(rs) == 0 {
		return nil, &Diagnostic{Severity: Error, Span: whole, Summary: "the gauge is missing", WayOut: form}
	}
	for len(rs) > 1 && (rs[len(rs)-1].key == "." || rs[len(rs)-1].key == "square" || rs[len(rs)-1].key == "sq") {
		rs = rs[:len(rs)-1]
	}
	t := exprTokensWith(src, rs, n, gaugeKeys, nil)
	s, at, ok := gaugeForm.parse(t.tokens)
	if !ok || t.strange >= 0 {
		d := exprProblem(src, t, at, whole, "the gauge")
		d.WayOut = form
		return nil, &d
	}
	var diags Diagnostics
	l := &lowerer{src: src, t: t.tokens, names: n, diags: &diags, mark: &Mark{}}
	g := &GaugeText{Span: whole, Stitches: l.literal(s.Stitches), Over: l.literal(s.Over)}
	if s.Rows != nil {
		g.Rows = l.literal(s.Rows)
	}
	if g.Rows == nil && g.Stitches.Unit.IsRows() {
		return nil, &Diagnostic{Severity: Error, Span: g.Stitches.Span, Summary: "a gauge begins with its stitches", WayOut: form}
	}
	if g.Stitches.Unit == NoUnit {
		if g.Rows == nil && strings.ContainsRune(g.Stitches.Nums[0].Text, '/') {
			return nil, &Diagnostic{Severity: Error, Span: g.Stitches.Span, Summary: "is this a fraction, or stitches and rows?", WayOut: form}
		}
		g.Stitches.Unit = Stitches
	}
	bad := func(v *Value, what string) (*GaugeText, *Diagnostic) {
		return nil, &Diagnostic{Severity: Error, Span: v.Span, Summary: "a gauge counts " + what + " here, and this is `" + fold(src[v.Span.Start:v.Span.End]) + "`", WayOut: form}
	}
	if g.Stitches.Unit != Stitches {
		return bad(g.Stitches, "stitches")
	}
	if g.Rows != nil {
		if g.Rows.Unit == NoUnit {
			g.Rows.Unit = Rows
		}
		if g.Rows.Unit != Rows && g.Rows.Unit != Rounds {
			return bad(g.Rows, "rows or rounds")
		}
		g.Rounds = g.Rows.Unit == Rounds
	} else if needRows {
		return nil, &Diagnostic{Severity: Error, Span: whole, Summary: "the gauge has no rows", WayOut: form}
	}
	if !g.Over.Unit.IsLength() {
		return bad(g.Over, "a length")
	}
	for _, v := range []*Value{g.Stitches, g.Rows, g.Over} {
		if v == nil {
			continue
		}
		if len(v.Nums) != 1 {
			return nil, &Diagnostic{Severity: Error, Span: v.Span, Summary: "a gauge is the same for every size", WayOut: "make a fabric of each"}
		}
		if v.Nums[0].Val.Sign() <= 0 {
			return nil, &Diagnostic{Severity: Error, Span: v.Span, Summary: "a gauge is above zero", WayOut: form}
		}
	}
	g.Span = Span{g.Stitches.Span.Start, g.Over.Span.End}
	return g, nil
}

// ages are words that may follow the brackets of a list of sizes, `2 (4, 6) years`, and are part of none of their names.
var ages = map[string]bool{"year": true, "years": true, "yr": true, "yrs": true, "month": true, "months": true, "mth": true, "mths": true, "mos": true}

// withoutAge is a list of sizes without the word behind its brackets that says what they are counted in.
func withoutAge(rs []raw) []raw {
	n := len(rs) - 1
	if n > 0 && rs[n].kind == rawPunct && rs[n].key == "." {
		n--
	}
	if n > 1 && ages[rs[n].key] && (rs[n-1].key == ")" || rs[n-1].key == "]") {
		return rs[:n]
	}
	return rs
}

// parseSizes reads `S (M, L)`.
func parseSizes(src string, rs []raw, n *names, whole Span) (*SizeList, *Diagnostic) {
	const form = "write `sizes: S (M, L)`"
	if len(rs) == 0 {
		return nil, &Diagnostic{Severity: Error, Span: whole, Summary: "the list of sizes is empty", WayOut: form}
	}
	l := &SizeList{Span: Span{rs[0].span.Start, rs[len(rs)-1].span.End}}
	t := &tokens{}
	for i := 0; i < len(rs); {
		if rs[i].kind == rawPunct && strings.Contains("()[],;:", rs[i].key) {
			typ := tSep
			switch rs[i].key {
			case "(", "[":
				typ = tOpen
			case ")", "]":
				typ = tClose
			}
			t.list = append(t.list, tok{typ: typ, val: rs[i].key, span: rs[i].span})
			i++
			continue
		}
		j := i
		for j < len(rs) && !(rs[j].kind == rawPunct && strings.Contains("()[],;:", rs[j].key)) {
			j++
		}
		w := wordOf(src, rs, i, j)
		t.list = append(t.list, tok{typ: tName, val: w.Key, span: w.Span, word: &w})
		i = j
	}
	s, at, ok := sizesForm.parse(t)
	if !ok {
		sp := l.Span
		if at < len(t.list) {
			sp = t.list[at].span
		}
		return nil, &Diagnostic{Severity: Error, Span: sp, Summary: "the list of sizes cannot be read", WayOut: form}
	}
	depth := 0
	var prev *tok
	for _, e := range s.Names {
		lt := e.Name
		if lt.Pos.Column == 0 {
			lt = e.Mark
		}
		k, ok := t.of(lt)
		if !ok {
			continue
		}
		switch k.typ {
		case tName:
			for _, w := range l.Names {
				if w.Key == k.word.Key {
					return nil, &Diagnostic{Severity: Error, Span: k.span, Summary: "the size " + k.word.Text + " stands twice", Related: []Related{{w.Span, "the first"}}, WayOut: form}
				}
			}
			if prev != nil && prev.typ == tClose {
				return nil, &Diagnostic{Severity: Error, Span: k.span, Summary: "the list of sizes cannot be read", WayOut: form}
			}
			if n := len(l.Names); n > 0 {
				l.Style.Between = append(l.Style.Between, oneLine(src[l.Names[n-1].Span.End:k.span.Start]))
			}
			l.Names = append(l.Names, *k.word)
		case tOpen:
			depth++
			if l.Style.Open == "" && len(l.Names) > 0 {
				l.Style.Open = src[k.span.Start:k.span.End]
				l.Style.Gap = oneLine(src[l.Names[len(l.Names)-1].Span.End:k.span.Start])
			}
		case tClose:
			depth--
			if l.Style.Close == "" {
				l.Style.Close = src[k.span.Start:k.span.End]
			}
		default:
			if l.Style.Sep == "" && prev != nil {
				end := k.span.End
				for end < len(src) && (src[end] == ' ' || src[end] == '\t') {
					end++
				}
				l.Style.Sep = oneLine(src[prev.span.End:end])
			}
		}
		if depth < 0 || depth > 1 {
			return nil, &Diagnostic{Severity: Error, Span: k.span, Summary: "the brackets of the list of sizes do not match", WayOut: form}
		}
		prev = k
	}
	if depth != 0 {
		return nil, &Diagnostic{Severity: Error, Span: l.Span, Summary: "the brackets of the list of sizes do not match", WayOut: form}
	}
	if len(l.Names) == 0 {
		return nil, &Diagnostic{Severity: Error, Span: l.Span, Summary: "the list of sizes is empty", WayOut: form}
	}
	if l.Style.Sep == "" {
		l.Style.Sep = ", "
	}
	return l, nil
}

// parseMeasure reads `NAME = EXPRESSION`; the equals sign is rs[at].
func parseMeasure(src string, rs []raw, at int, n *names, whole Span) (*MeasureDef, *Diagnostic) {
	if at == 0 {
		return nil, &Diagnostic{Severity: Error, Span: rs[0].span, Summary: "this measure has no name", WayOut: "write `chest = 93 cm`"}
	}
	if rs[0].kind == rawNum && !rs[0].spelled || rs[0].kind == rawPunct {
		return nil, &Diagnostic{Severity: Error, Span: spanOfRaws(nil, rs[:at]), Summary: "a name begins with a letter", WayOut: "write `chest = 93 cm`"}
	}
	name := wordOf(src, rs, 0, at)
	for i := 0; i < at; i++ {
		if rs[i].kind == rawPunct && !strings.Contains("-'&.", rs[i].key) {
			return nil, &Diagnostic{Severity: Error, Span: rs[i].span, Summary: "`" + fold(src[rs[i].span.Start:rs[i].span.End]) + "` cannot stand in a name", WayOut: "name a measure with letters and blanks: `body length = 58 cm`"}
		}
	}
	body := rs[at+1:]
	if len(body) == 0 {
		return nil, &Diagnostic{Severity: Error, Span: whole, Summary: "`" + name.Text + "` is given no value", WayOut: "write `" + name.Text + " = 93 cm`"}
	}
	t := exprTokens(src, body, n)
	head := tok{typ: tName, val: name.Key, span: name.Span, word: &name}
	eq := tok{typ: tEquals, val: "=", span: rs[at].span}
	t.list = append([]tok{head, eq}, t.list...)
	s, errAt, ok := measureForm.parse(t.tokens)
	if !ok || t.strange >= 0 {
		d := exprProblem(src, t, errAt, Span{body[0].span.Start, whole.End}, "the expression")
		return nil, &d
	}
	var diags Diagnostics
	l := &lowerer{src: src, t: t.tokens, names: n, diags: &diags, mark: &Mark{}}
	m := &MeasureDef{Span: whole, Name: name, Expr: l.sum(s.Expr)}
	if len(diags) > 0 {
		return nil, &diags[0]
	}
	return m, nil
}

func (p *fileParser) swatchStatement(b *Block, s statement, rs []raw, sign string, at int) {
	src := p.text
	if b.Swatch == nil {
		b.Swatch = &Swatch{Span: b.Body}
	}
	w := b.Swatch
	readings := func(into *[]Reading, rs []raw) {
		// readings are parted by semicolons
		for len(rs) > 0 {
			j := 0
			for j < len(rs) && !(rs[j].kind == rawPunct && rs[j].key == ";") {
				j++
			}
			if j > 0 {
				r, d := p.reading(rs[:j])
				if d != nil {
					p.report(*d)
					return
				}
				*into = append(*into, *r)
			}
			if j == len(rs) {
				return
			}
			rs = rs[j+1:]
		}
	}
	switch {
	case rs[0].key == "fabric":
		p.swatchHead(w, s, rs[1:])
	case sign == ":" && at == 1 && (rs[0].key == "unwashed" || rs[0].key == "washed" || rs[0].key == "hung" || rs[0].key == "blocked"):
		into := map[string]*[]Reading{"unwashed": &w.Unwashed, "washed": &w.Washed, "blocked": &w.Washed, "hung": &w.Hung}[rs[0].key]
		if len(rs) == 2 {
			p.report(Diagnostic{Severity: Error, Span: s.span, Summary: "nothing was measured here", WayOut: "write `washed: 36 sts over 17.0 cm, 17.1 cm; 48 rows over 16.2 cm`"})
			return
		}
		readings(into, rs[2:])
	case rs[0].key == "weighs" || rs[0].key == "weight" || rs[0].kind == rawNum:
		p.sizeOfSwatch(w, s, rs)
	case rs[0].key == "ball" || rs[0].key == "skein":
		p.ballOfSwatch(w, s, rs[1:])
	default:
		d := Diagnostic{Severity: Error, Span: s.span, Summary: "this statement cannot be read",
			WayOut: "a swatch card holds `fabric NAME, needles …, flat`, `unwashed: …`, `washed: …`, `hung: …`, `weighs 14 g, 25 cm wide, 22 cm tall` and `ball 50 g, 120 m`"}
		if n := nearest(rs[0].key, []string{"fabric", "unwashed", "washed", "hung", "weighs", "needles", "ball"}); n != "" {
			d.Span = rs[0].span
			d.Summary = "`" + fold(src[rs[0].span.Start:rs[0].span.End]) + "` begins no statement"
			d.WayOut = "did you mean " + n + "?"
		}
		p.report(d)
	}
}

// swatchHead reads `main, needles 4.5 mm, flat`.
func (p *fileParser) swatchHead(w *Swatch, s statement, rs []raw) {
	src := p.text
	for i := 0; i < len(rs); {
		j := i
		for j < len(rs) && !(rs[j].kind == rawPunct && (rs[j].key == "," || rs[j].key == ";")) {
			j++
		}
		if j > i {
			part := rs[i:j]
			switch {
			case w.Fabric.Key == "" && i == 0:
				w.Fabric = wordOf(src, rs, i, j)
			case part[0].key == "needles" || part[0].key == "needle":
				if len(part) > 1 {
					w.Needles = fold(src[part[1].span.Start:part[len(part)-1].span.End])
				}
			case part[len(part)-1].key == "needles" || part[len(part)-1].key == "needle":
				w.Needles = fold(src[part[0].span.Start:part[len(part)-2].span.End])
			case part[0].key == "flat" || strings.HasPrefix(wordOf(src, rs, i, j).Key, "worked flat") || strings.HasPrefix(wordOf(src, rs, i, j).Key, "knitted flat"):
				w.Flat = true
			case part[len(part)-1].key == "round" || part[len(part)-1].key == "rounds":
				w.Round = true
			default:
				p.report(Diagnostic{Severity: Error, Span: Span{part[0].span.Start, part[len(part)-1].span.End}, Summary: "`" + wordOf(src, rs, i, j).Text + "` is not understood here", WayOut: "write `fabric main, needles 4.5 mm, flat` (or `in the round`)"})
				return
			}
		}
		i = j + 1
	}
	if w.Fabric.Key == "" {
		p.report(Diagnostic{Severity: Error, Span: s.span, Summary: "which fabric is this a swatch of?", WayOut: "write `fabric main, needles 4.5 mm, flat`"})
	}
	if w.Flat && w.Round {
		p.report(Diagnostic{Severity: Error, Span: s.span, Summary: "a swatch is worked flat or in the round, not both", WayOut: "make a card's block for each"})
	}
}

var readingKeys = map[string]bool{"over": true, "to": true, "in": true, "measure": true}

func (p *fileParser) reading(rs []raw) (*Reading, *Diagnostic) {
	const form = "write `36 sts over 16.4 cm, 16.5 cm`"
	src := p.text
	whole := spanOfRaws(nil, rs)
	t := exprTokensWith(src, rs, p.names, readingKeys, nil)
	s, at, ok := readingForm.parse(t.tokens)
	if !ok || t.strange >= 0 {
		d := exprProblem(src, t, at, whole, "the reading")
		d.WayOut = form
		return nil, &d
	}
	var diags Diagnostics
	l := &lowerer{src: src, t: t.tokens, names: p.names, diags: &diags, mark: &Mark{}}
	r := &Reading{Span: whole, Count: l.literal(s.Count)}
	r.Over = append(r.Over, l.literal(s.First))
	for _, m := range s.More {
		r.Over = append(r.Over, l.literal(m))
	}
	if r.Count.Unit != Stitches && r.Count.Unit != Rows && r.Count.Unit != Rounds {
		return nil, &Diagnostic{Severity: Error, Span: r.Count.Span, Summary: "a reading counts stitches or rows", WayOut: form}
	}
	// `16.4, 16.5, 16.3 cm`: the unit may stand once, at the end
	unit := r.Over[len(r.Over)-1].Unit
	for _, v := range append([]*Value{r.Count}, r.Over...) {
		if len(v.Nums) != 1 || v.Nums[0].Val.Sign() <= 0 {
			return nil, &Diagnostic{Severity: Error, Span: v.Span, Summary: "a reading is one number above zero", WayOut: form}
		}
		if v != r.Count {
			if v.Unit == NoUnit {
				v.Unit = unit
			}
			if !v.Unit.IsLength() {
				return nil, &Diagnostic{Severity: Error, Span: v.Span, Summary: "this is no length", WayOut: form}
			}
		}
	}
	return r, nil
}

// sizeOfSwatch reads `weighs 14 g, 25 cm wide, 22 cm tall`.
func (p *fileParser) sizeOfSwatch(w *Swatch, s statement, rs []raw) {
	src := p.text
	const form = "write `weighs 14 g, 25 cm wide, 22 cm tall`"
	for i := 0; i < len(rs); {
		j := i
		for j < len(rs) && !(rs[j].kind == rawPunct && (rs[j].key == "," || rs[j].key == ";") || rs[j].key == "and" || rs[j].key == "by") {
			j++
		}
		part := rs[i:j]
		i = j + 1
		if len(part) > 0 && (part[0].key == "weighs" || part[0].key == "weight") {
			part = part[1:]
			if len(part) > 0 && part[0].key == ":" {
				part = part[1:]
			}
		}
		if len(part) == 0 {
			continue
		}
		whole := spanOfRaws(nil, part)
		which := ""
		if n := len(part); part[n-1].kind == rawWord {
			switch part[n-1].key {
			case "wide", "across":
				which = "wide"
			case "tall", "high", "long", "deep":
				which = "tall"
			}
			if which != "" {
				part = part[:n-1]
			}
		}
		v := p.oneNumber(part, "the swatch's size", form)
		switch {
		case v == nil:
			return
		case which == "wide" && v.Unit.IsLength():
			w.Wide = v
		case which == "tall" && v.Unit.IsLength():
			w.Tall = v
		case which == "" && (v.Unit == Grams || v.Unit == Ounces):
			w.Weighs = v
		default:
			p.report(Diagnostic{Severity: Error, Span: v.Span, Summary: "`" + fold(src[whole.Start:whole.End]) + "` is no weight, width or height", WayOut: form})
			return
		}
	}
}

// oneNumber reads one number above zero with its unit; what is wrong with it is reported, and then it is nil.
func (p *fileParser) oneNumber(part []raw, what, form string) *Value {
	t := exprTokens(p.text, part, p.names)
	lit, at, ok := literalForm.parse(t.tokens)
	if !ok || t.strange >= 0 {
		d := exprProblem(p.text, t, at, spanOfRaws(nil, part), what)
		d.WayOut = form
		p.report(d)
		return nil
	}
	var diags Diagnostics
	l := &lowerer{src: p.text, t: t.tokens, names: p.names, diags: &diags, mark: &Mark{}}
	v := l.literal(lit)
	if len(v.Nums) != 1 || v.Nums[0].Val.Sign() <= 0 {
		p.report(Diagnostic{Severity: Error, Span: v.Span, Summary: "this is one number above zero", WayOut: form})
		return nil
	}
	return v
}

// ballOfSwatch reads `ball 50 g, 120 m`: what a ball of the swatch's yarn weighs, how long its yarn is, or both.
func (p *fileParser) ballOfSwatch(w *Swatch, s statement, rs []raw) {
	const form = "write `ball 50 g, 120 m`"
	between := func(r raw) bool {
		return r.kind == rawPunct && (r.key == "," || r.key == ";" || r.key == ":" || r.key == "=" || r.key == "/") || r.key == "and" || r.key == "of"
	}
	for i := 0; i < len(rs); i++ {
		j := i
		for j < len(rs) && !between(rs[j]) {
			j++
		}
		part := rs[i:j]
		i = j
		if len(part) == 0 {
			continue
		}
		v := p.oneNumber(part, "the ball", form)
		if v == nil {
			return
		}
		switch v.Unit {
		case Grams, Ounces:
			w.Ball = v
		case Metres, Yards:
			w.Runs = v
		default:
			p.report(Diagnostic{Severity: Error, Span: v.Span, Summary: "`" + fold(p.text[v.Span.Start:v.Span.End]) + "` is no weight and no length of yarn", WayOut: form})
			return
		}
	}
	if w.Ball == nil && w.Runs == nil {
		p.report(Diagnostic{Severity: Error, Span: s.span, Summary: "what a ball weighs, or how long its yarn is, is not said", WayOut: form})
	}
}
