package grammar

import (
	"math/big"
	"slices"
	"strings"

	"github.com/alecthomas/participle/v2/lexer"
)

// exprReader turns the words of ties and of block statements into tokens.
type exprReader struct {
	src   string
	rs    []raw
	i     int
	names *names
	*tokens
	open    []bool // the brackets that are open: true for a list of sizes
	strange int    // the first raw that is no part of any expression, or -1
	keys    map[string]bool
	ties    bool // it reads ties, where a reading may stand
}

// readings are the spellings of how words are meant.
var readings = []struct {
	words []string
	of    Reads
}{
	{[]string{"taken", "up", "here"}, TakenUpHere}, {[]string{"added"}, Added}, {[]string{"for", "good"}, ForGood}, {[]string{"in", "all"}, InAll},
	{[]string{"more"}, MoreTimes}, {[]string{"from"}, FromPlace}, {[]string{"at", "both", "ends"}, BothEnds}, {[]string{"picked", "up"}, PickedUpHere}, {[]string{"on"}, OnNeedles},
	{[]string{"to"}, ToPlace}, {[]string{"in"}, InRows},
	{[]string{"after"}, InWords}, {[]string{"with"}, InWords},
}

// reading reads how the words before the bar are meant, where a tie begins; false where none stands there.
func (p *exprReader) reading() bool {
	i := p.i
	if t := p.prev().typ; !p.ties || t != tEOF && t != tComma {
		return false
	}
next:
	for k, r := range readings {
		for j, w := range r.words {
			if p.key(i+j) != w {
				continue next
			}
		}
		j := i + len(r.words)
		switch r.of {
		case OnNeedles, InRows:
			if j+1 >= len(p.rs) || p.rs[j].kind != rawNum || r.of == OnNeedles && p.key(j+1) != "needles" || r.of == InRows && !unitWords[p.key(j+1)].IsRows() {
				continue
			}
			p.emit(tSaid, "", i, j).unit = Unit(k)
			p.emit(tNum, "", j, j+1).raw = &p.rs[j]
			p.i = j + 2
			return true
		case InWords:
			if !p.inWords(i, Unit(k)) {
				continue
			}
			return true
		case FromPlace, ToPlace:
			for j < len(p.rs) && articles[p.rs[j].key] {
				j++
			}
			from := j
			for j < len(p.rs) && (p.rs[j].kind != rawPunct || p.rs[j].key == "-" || p.rs[j].key == "'") {
				j++
			}
			if j == from {
				continue
			}
			p.emit(tSaid, "", i, i+1).unit = Unit(k)
			p.emitName(from, j)
			p.i = j
			return true
		}
		if p.key(j) != "" && p.key(j) != "," {
			continue
		}
		p.emit(tSaid, "", i, j).unit = Unit(k)
		p.i = j
		return true
	}
	return false
}

// inWords reads what rows do that are told in words: `after 2 rows with 8 sts more`, `after 1 row`, `with 1 st fewer`.
func (p *exprReader) inWords(i int, of Unit) bool {
	j, rows, sts := i, -1, -1
	if p.key(j) == "after" {
		if u := unitWords[p.key(j+2)]; !p.numAt(j+1) || u != Rows && u != Rounds {
			return false
		}
		rows = j + 1
		j += 3
	}
	sign := ""
	if p.key(j) == "with" {
		if u := unitWords[p.key(j+2)]; !p.numAt(j+1) || u != Stitches || p.key(j+3) != "more" && p.key(j+3) != "fewer" {
			return false
		}
		sts, sign = j+1, p.key(j+3)
		j += 4
	}
	if p.key(j) != "" && p.key(j) != "," {
		return false
	}
	p.emit(tSaid, sign, i, i+1).unit = of
	for _, n := range []int{rows, sts} {
		if n >= 0 {
			p.emit(tNum, "", n, n+1).raw = &p.rs[n]
		}
	}
	p.i = j
	return true
}

func (p *exprReader) numAt(i int) bool { return i < len(p.rs) && p.rs[i].kind == rawNum }

func exprTokens(src string, rs []raw, n *names) *exprReader {
	return exprTokensWith(src, rs, n, nil, nil)
}

// exprTokensWith reads with further words as keys, which statements of blocks have (`over`, `to`), and puts the tokens in
// room as far as they fit.
func exprTokensWith(src string, rs []raw, n *names, keys map[string]bool, room []tok) *exprReader {
	p := &exprReader{src: src, rs: rs, names: n, tokens: &tokens{list: slices.Grow(room, len(rs)+1)}, strange: -1, keys: keys}
	for p.i < len(p.rs) {
		p.step()
	}
	return p
}

func (p *exprReader) emit(typ tokenType, val string, i, j int) *tok {
	p.list = append(p.list, tok{typ: typ, val: val, span: Span{p.rs[i].span.Start, p.rs[j-1].span.End}})
	return &p.list[len(p.list)-1]
}

func (p *exprReader) emitName(i, j int) {
	w := wordOf(p.src, p.rs, i, j)
	p.emit(tName, w.Key, i, j).word = &w
}

func (p *exprReader) prev() *tok {
	if len(p.list) == 0 {
		return &tok{typ: tEOF}
	}
	return &p.list[len(p.list)-1]
}

func (p *exprReader) key(i int) string {
	if i < len(p.rs) {
		return p.rs[i].key
	}
	return ""
}

func (p *exprReader) step() {
	i := p.i
	r := &p.rs[i]
	prev := p.prev()
	if r.kind == rawPunct {
		p.i++
		switch r.key {
		case "(", "[":
			list := prev.typ == tNum || prev.typ == tClose
			p.open = append(p.open, list)
			if list {
				p.emit(tOpen, r.key, i, i+1)
			} else {
				p.emit(tParenOpen, r.key, i, i+1)
			}
		case ")", "]":
			list := false
			if n := len(p.open); n > 0 {
				list = p.open[n-1]
				p.open = p.open[:n-1]
			}
			if list {
				p.emit(tClose, r.key, i, i+1)
			} else {
				p.emit(tParenClose, r.key, i, i+1)
			}
		case ",", ";", ":":
			if n := len(p.open); n > 0 && p.open[n-1] {
				p.emit(tSep, r.key, i, i+1)
			} else if r.key == ":" {
				p.emit(tColon, r.key, i, i+1)
			} else {
				p.emit(tComma, r.key, i, i+1)
			}
		case "+":
			p.emit(tPlus, "+", i, i+1)
		case "-", "—":
			p.emit(tMinus, "-", i, i+1)
		case "*":
			p.emit(tStar, "*", i, i+1)
		case "/":
			p.emit(tSlash, "/", i, i+1)
		case "%":
			p.emit(tPercent, "%", i, i+1).unit = Percent
		case "=":
			p.emit(tEquals, "=", i, i+1)
		case `"`:
			if prev.typ == tNum || prev.typ == tClose {
				p.emit(tUnit, "in", i, i+1).unit = Inches
				return
			}
			p.stray(i)
		case ".":
			// a full stop after an abbreviation or at the end
		case "&":
			p.emit(tKey, "and", i, i+1)
		default:
			p.stray(i)
		}
		return
	}
	if prev.typ == tKey && prev.val == "as" {
		p.asName(i)
		return
	}
	if n, _ := matchName(p.names.apart, p.rs, i); n > 0 {
		p.emitName(i, i+n)
		p.i = i + n
		return
	}
	if p.reading() {
		return
	}
	if r.kind == rawNum {
		p.emit(tNum, r.key, i, i+1).raw = r
		p.i++
		return
	}
	if articles[r.key] && i+1 < len(p.rs) && p.rs[i+1].kind != rawPunct {
		p.i++
		return
	}
	if u, ok := unitWords[r.key]; ok && u != NoUnit && (prev.typ == tNum || prev.typ == tClose) {
		if r.key != "in" || !p.fabricAt(i+1) && !p.keys["in"] || p.keys["in"] && p.inEnds(i) {
			p.emit(tUnit, r.key, i, i+1).unit = u
			p.i++
			return
		}
	}
	if p.keyword(r, prev) {
		return
	}
	if p.keys[r.key] {
		p.emit(tKey, r.key, i, i+1)
		p.i++
		return
	}
	p.unknownName(i)
}

// inEnds settles `in` in a gauge or a reading: a unit where nothing, or a word that is no number, follows.
func (p *exprReader) inEnds(i int) bool {
	return i+1 >= len(p.rs) || p.rs[i+1].kind == rawPunct || p.rs[i+1].kind == rawWord && !articles[p.rs[i+1].key]
}

func (p *exprReader) stray(i int) {
	if p.strange < 0 {
		p.strange = i
	}
}

func (p *exprReader) fabricAt(i int) bool {
	for i < len(p.rs) && articles[p.rs[i].key] {
		i++
	}
	if i >= len(p.rs) {
		return false
	}
	n, k := matchName(p.names.apart, p.rs, i)
	return n > 0 && k&aFabric != 0
}

// asName takes all up to the next comma outside brackets as one name.
func (p *exprReader) asName(i int) {
	for i < len(p.rs) && articles[p.rs[i].key] {
		i++
	}
	j := i
	for j < len(p.rs) && (p.rs[j].kind != rawPunct || p.rs[j].key == "-" || p.rs[j].key == "'" || p.rs[j].key == "&" || p.rs[j].key == "/") {
		j++
	}
	if j == i {
		p.i = j
		if j < len(p.rs) {
			p.stray(j)
			p.i++
		}
		return
	}
	p.emitName(i, j)
	p.i = j
}

func (p *exprReader) keyword(r *raw, prev *tok) bool {
	i := p.i
	ends := i+1 >= len(p.rs) || p.rs[i+1].kind == rawPunct && (p.rs[i+1].key == "," || p.rs[i+1].key == ";")
	begins := prev.typ == tEOF || prev.typ == tComma
	key := func(val string, n int) bool {
		p.emit(tKey, val, i, i+n)
		p.i = i + n
		return true
	}
	switch r.key {
	case "as":
		if begins {
			return key("as", 1)
		}
	case "fixed", "even", "odd":
		if begins && ends {
			return key(r.key, 1)
		}
		if begins && (r.key == "even" || r.key == "odd") && i+2 == len(p.rs) && p.key(i+1) == "number" {
			return key(r.key, 2)
		}
	case "multiple", "multiples":
		if begins && (p.key(i+1) == "of" || i+1 < len(p.rs) && p.rs[i+1].kind == rawNum) {
			return key("multiple", 1)
		}
	case "rounded":
		if begins && (p.key(i+1) == "up" || p.key(i+1) == "down") {
			return key("rounded", 1)
		}
	case "up", "down":
		if prev.typ == tKey && prev.val == "rounded" {
			return key(r.key, 1)
		}
	case "smaller", "lesser", "larger", "greater", "bigger":
		if p.key(i+1) == "of" {
			val := "larger"
			if r.key == "smaller" || r.key == "lesser" {
				val = "smaller"
			}
			return key(val, 1)
		}
	case "of":
		if prev.typ == tKey && (prev.val == "smaller" || prev.val == "larger" || prev.val == "multiple") {
			return key("of", 1)
		}
	case "and":
		return key("and", 1)
	case "in":
		if prev.typ != tEOF && prev.typ != tComma {
			return key("in", 1)
		}
	case "plus":
		p.emit(tPlus, "+", i, i+1)
		p.i++
		return true
	case "minus", "less":
		p.emit(tMinus, "-", i, i+1)
		p.i++
		return true
	}
	return false
}

// unknownName takes the longest run of words as one name, so that dsl can say it is not known.
func (p *exprReader) unknownName(i int) {
	j := i + 1
	for j < len(p.rs) {
		r := &p.rs[j]
		if r.kind == rawPunct {
			// a hyphen between letters may be a name's own; it is where the parts are no names themselves
			if r.key == "-" && !r.blank && j+1 < len(p.rs) && !p.rs[j+1].blank && p.rs[j+1].kind == rawWord {
				if n, _ := matchName(p.names.apart, p.rs, j+1); n == 0 {
					j += 2
					continue
				}
			}
			break
		}
		if p.keys[r.key] || r.key == "and" || r.key == "plus" || r.key == "minus" || r.key == "in" {
			break
		}
		if n, _ := matchName(p.names.apart, p.rs, j); n > 0 {
			break
		}
		j++
	}
	p.emitName(i, j)
	p.i = j
}

// ---- from raw forms to the tree

func (l *lowerer) sum(s *sumSyntax) Expr {
	x := l.product(s.First)
	for _, a := range s.Rest {
		t, _ := l.t.of(a.Op)
		y := l.product(a.X)
		op := byte('+')
		if t != nil && t.typ == tMinus {
			op = '-'
		}
		x = &Binary{Span: cover(l.exprSpan(x), l.exprSpan(y)), Op: op, L: x, R: y}
	}
	return x
}

func (l *lowerer) product(s *productSyntax) Expr {
	x := l.factor(s.First)
	for _, m := range s.Rest {
		t, _ := l.t.of(m.Op)
		y := l.factor(m.X)
		op := byte('*')
		if t != nil && t.typ == tSlash {
			op = '/'
		}
		x = &Binary{Span: cover(l.exprSpan(x), l.exprSpan(y)), Op: op, L: x, R: y}
	}
	return x
}

// exprSpan is the span of an expression with the brackets round it.
func (l *lowerer) exprSpan(x Expr) Span {
	if s, ok := l.t.wide[x]; ok {
		return s
	}
	return x.ExprSpan()
}

func (l *lowerer) factor(s *factorSyntax) Expr {
	var x Expr
	switch {
	case s.Lit != nil:
		x = &Lit{Value: l.literal(s.Lit)}
	case s.Group != nil:
		x = l.sum(s.Group.X)
		o, _ := l.t.of(s.Group.Open)
		c, _ := l.t.of(s.Group.Close)
		if o != nil && c != nil {
			if l.t.wide == nil {
				l.t.wide = map[Expr]Span{}
			}
			l.t.wide[x] = cover(o.span, c.span)
		}
	case s.Choice != nil:
		t, _ := l.t.of(s.Choice.Which)
		c := &Choice{Larger: t.val == "larger", Span: t.span}
		c.Of = append(c.Of, l.sum(s.Choice.First))
		for _, m := range s.Choice.More {
			c.Of = append(c.Of, l.sum(m))
		}
		c.Of = append(c.Of, l.sum(s.Choice.Last))
		c.Span = cover(c.Span, l.exprSpan(c.Of[len(c.Of)-1]))
		x = c
	default:
		t, _ := l.t.of(s.Name)
		x = &NameRef{Name: *t.word}
	}
	if s.In != nil {
		t, _ := l.t.of(s.In.Name)
		x = &InFabric{Span: cover(l.exprSpan(x), t.span), X: x, Fabric: *t.word}
	}
	for i := len(s.Minus) - 1; i >= 0; i-- {
		t, _ := l.t.of(s.Minus[i])
		if t == nil {
			continue
		}
		x = &Neg{Span: cover(t.span, l.exprSpan(x)), X: x}
	}
	return x
}

func (l *lowerer) literal(s *literalSyntax) *Value {
	v, _, _ := l.value(s.Nums)
	if t, ok := l.t.of(s.Unit); ok {
		v.Unit, v.UnitSpan = t.unit, t.span
		v.Span = cover(v.Span, t.span)
	}
	return v
}

func (l *lowerer) ties(s *tiesSyntax) []Tie {
	var out []Tie
	for _, t := range s.Ties {
		if x := l.tie(t); x != nil {
			out = append(out, x)
		}
	}
	return out
}

func (l *lowerer) tie(s *tieSyntax) Tie {
	of := func(t lexer.Token) *tok {
		x, ok := l.t.of(t)
		if !ok {
			return nil
		}
		return x
	}
	switch {
	case s.As != nil:
		a, n := of(s.As.As), of(s.As.Name)
		return &TieAs{Span: cover(a.span, n.span), Name: *n.word}
	case of(s.Fixed) != nil:
		return &TieFixed{Span: of(s.Fixed).span}
	case of(s.Parity) != nil:
		t := of(s.Parity)
		m := &TieMultiple{Span: t.span, Of: 2}
		if t.val == "odd" {
			m.Plus = 1
		}
		return m
	case s.Multiple != nil:
		m := &TieMultiple{}
		for _, t := range s.Multiple.Word {
			m.Span = cover(m.Span, of(t).span)
		}
		n := of(s.Multiple.Of)
		m.Span = cover(m.Span, n.span)
		m.Of = l.whole(n)
		if sign := of(s.Multiple.Sign); sign != nil {
			p := of(s.Multiple.Plus)
			m.Plus = l.whole(p)
			if sign.typ == tMinus {
				m.Plus = -m.Plus
			}
			m.Span = cover(m.Span, p.span)
		}
		if m.Of < 1 && !l.bad {
			l.fail(n.span, "a multiple is of 1 or more", "", "write `multiple of 4 + 2`")
		}
		return m
	case len(s.Rounded) > 0:
		r := &TieRounded{}
		for _, t := range s.Rounded {
			x := of(t)
			r.Span = cover(r.Span, x.span)
			r.Up = x.val == "up"
		}
		return r
	case s.Reading != nil:
		t := of(s.Reading.Said)
		r := &TieReading{Span: t.span, Of: readings[int(t.unit)].of}
		if r.Of == InWords {
			l.inWords(s.Reading, r)
			return r
		}
		if n := of(s.Reading.Name); n != nil {
			r.Name, r.Span = n.word, cover(r.Span, n.span)
		}
		if len(s.Reading.Nums) > 0 {
			n := of(s.Reading.Nums[0])
			r.Num, r.Span = l.whole(n), cover(r.Span, n.span)
		}
		return r
	case s.Expr != nil:
		return &TieExpr{Expr: l.sum(s.Expr)}
	}
	return nil
}

// inWords lowers `after 2 rows with 8 sts more`.
func (l *lowerer) inWords(s *saidSyntax, r *TieReading) {
	said, _ := l.t.of(s.Said)
	nums := s.Nums
	for _, n := range nums {
		t, _ := l.t.of(n)
		r.Span = cover(r.Span, t.span)
	}
	if fold(l.src[said.span.Start:said.span.End]) == "after" || len(nums) > 1 {
		t, _ := l.t.of(nums[0])
		r.Num, nums = l.whole(t), nums[1:]
	}
	if len(nums) > 0 {
		t, _ := l.t.of(nums[0])
		if r.Sts = l.whole(t); said.val == "fewer" {
			r.Sts = -r.Sts
		}
	}
}

// whole is the value of a token that must be a whole number below a million.
func (l *lowerer) whole(t *tok) int64 {
	v := t.numVal()
	if v == nil || !v.IsInt() || v.Cmp(big.NewRat(1_000_000, 1)) >= 0 || v.Cmp(big.NewRat(-1_000_000, 1)) <= 0 {
		l.fail(t.span, "a multiple is of whole stitches or rows", "", "write `multiple of 4 + 2`")
		return 1
	}
	return v.Num().Int64()
}

// exprProblem words what is wrong where an expression or a list of ties could not be read.
func exprProblem(src string, p *exprReader, at int, whole Span, what string) Diagnostic {
	d := Diagnostic{Severity: Error, Span: whole, Summary: what + " cannot be read"}
	if p.strange >= 0 {
		s := p.rs[p.strange].span
		d.Span, d.Summary = s, "`"+fold(src[s.Start:s.End])+"` has no meaning in "+what
		return d
	}
	if at >= len(p.list) {
		if whole.Start == whole.End {
			d.Summary = "nothing stands where " + what + " is expected"
			return d
		}
		d.Summary = what + " ends too early"
		d.Span = Span{whole.End, whole.End}
		if len(p.list) > 0 {
			last := p.list[len(p.list)-1].span
			d.Span = last
		}
		switch {
		case len(p.open) > 0:
			d.Detail, d.WayOut = "A bracket is still open.", "close it with )"
		case strings.EqualFold(src[d.Span.Start:d.Span.End], "as"):
			d.WayOut = "give a name after `as`: a word that is no mere article"
		default:
			d.WayOut = "finish it, or take its last sign away"
		}
		return d
	}
	t := &p.list[at]
	d.Span = t.span
	text := fold(src[t.span.Start:t.span.End])
	d.Summary = "`" + text + "` was not expected here in " + what
	if at > 0 && (t.typ == tName || t.typ == tNum) {
		before := &p.list[at-1]
		switch {
		case before.typ == tName && t.typ == tName, before.typ == tNum && t.typ == tName, before.typ == tUnit && t.typ == tName, before.typ == tClose && t.typ == tName, before.typ == tNum && t.typ == tNum:
			d.Detail = "Between `" + fold(src[before.span.Start:before.span.End]) + "` and `" + text + "` a sign is missing, or they are one name that is not known."
			d.WayOut = "put + - * or / between them, or name the measure in the draft block"
		}
	}
	if t.typ == tName && d.Detail == "" {
		if n := nearest(t.val, p.names.all); n != "" {
			d.WayOut = "did you mean " + n + "?"
		}
	}
	return d
}
