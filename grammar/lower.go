package grammar

import (
	"math/big"
	"slices"
	"strconv"
	"strings"

	"github.com/alecthomas/participle/v2/lexer"
)

// lowerer makes the public tree of what participle read.
type lowerer struct {
	src   string
	t     *tokens
	names *names
	mark  *Mark
	diags *Diagnostics
	bad   bool
}

func (l *lowerer) fail(s Span, summary, detail, wayOut string) {
	if l.bad {
		return // one slip, one report
	}
	l.bad = true
	*l.diags = append(*l.diags, Diagnostic{Severity: Error, Span: s, Summary: summary, Detail: detail, WayOut: wayOut})
}

func (l *lowerer) text(s Span) string { return fold(l.src[s.Start:s.End]) }

func fold(s string) string { return strings.Join(strings.Fields(s), " ") }

func cover(a, b Span) Span {
	if a == (Span{}) {
		return b
	}
	return Span{min(a.Start, b.Start), max(a.End, b.End)}
}

type partKind int

const (
	pQuantity partKind = iota
	pInterval
	pRelation
	pThen
	pComma
	pAnd
	pPlus
	pFlag
	pName
	pUnit
	pMore
)

// part is a part of a phrase, decoded.
type part struct {
	kind partKind
	span Span
	q    *quantity
	iv   *interval
	word *Word
	val  string // the flag, or the relation
	unit Unit   // of a flag about needles, how many
}

type quantity struct {
	*Value
	span  Span // `5 more times`: all of it
	more  bool
	times bool
	total bool    // `5 times in all`
	nth   bool    // `5th`
	sums  [][]Num // a layout's sums in brackets, size by size
}

type interval struct {
	span                         Span
	every, next, foll, last, alt bool
	side                         Side
	nums                         *Value
	ordinal                      bool
	unit                         Unit
	more                         bool
}

func (l *lowerer) num(t *tok) Num {
	n := Num{Span: t.span, Text: numText(l.src[t.span.Start:t.span.End]), Val: t.raw.val}
	if strings.IndexByte(n.Text, '\n') >= 0 {
		n.Text = t.raw.key // wrapped over lines
	}
	return n
}

func numText(s string) string {
	if strings.IndexByte(s, '\\') < 0 {
		return s
	}
	var out strings.Builder
	writeUnescaped(&out, s)
	return out.String()
}

// value decodes a number or a list of them; sums are set where brackets hold `a + b`.
func (l *lowerer) value(list []lexer.Token) (v *Value, sums [][]Num, ordinal bool) {
	v = &Value{}
	var prev *tok
	var sum []Num
	inside := false
	toks := l.t.numbers(list)
	count, layout := 0, false
	for i := range toks {
		if toks[i].typ == tNum {
			count++
		}
		layout = layout || toks[i].typ == tPlus
	}
	v.Nums = make([]Num, 0, count)
	if count > 1 {
		v.Style.Between = make([]string, 0, count-1)
	}
	for i := range toks {
		t := &toks[i]
		v.NumSpan = cover(v.NumSpan, t.span)
		switch t.typ {
		case tNum:
			n := l.num(t)
			ordinal = ordinal || t.raw.ordinal
			if layout && inside {
				if prev.typ != tPlus && sum != nil {
					sums = append(sums, sum)
					sum = nil
				}
				sum = append(sum, n)
			}
			if len(v.Nums) > 0 {
				before := v.Nums[len(v.Nums)-1].Span.End
				v.Style.Between = append(v.Style.Between, oneLine(l.src[before:n.Span.Start]))
			}
			v.Nums = append(v.Nums, n)
		case tOpen:
			if !inside && v.Style.Open == "" {
				v.Style.Open = l.src[t.span.Start:t.span.End]
				v.Style.Gap = oneLine(l.src[v.Nums[len(v.Nums)-1].Span.End:t.span.Start])
			}
			inside = true
		case tClose:
			if v.Style.Close == "" {
				v.Style.Close = l.src[t.span.Start:t.span.End]
			}
			inside = false
		case tSep:
			if v.Style.Sep == "" && prev != nil {
				// the blank after the mark belongs to the separator
				end := t.span.End
				for end < len(l.src) && (l.src[end] == ' ' || l.src[end] == '\t') {
					end++
				}
				v.Style.Sep = oneLine(l.src[prev.span.End:end])
			}
		}
		prev = t
	}
	if sum != nil {
		sums = append(sums, sum)
	}
	if len(v.Nums) > 1 && v.Style.Sep == "" {
		v.Style.Sep = ", "
	}
	v.Span = v.NumSpan
	return v, sums, ordinal
}

// oneLine is the text between two tokens as it would stand on one line.
func oneLine(text string) string {
	if strings.ContainsAny(text, "\n\r") {
		if s := fold(text); strings.Trim(s, " >") == "" {
			return " "
		} else {
			return strings.TrimRight(s, " >") + " "
		}
	}
	return strings.ReplaceAll(text, `\`, "")
}

func (l *lowerer) quantity(s *quantitySyntax) *quantity {
	v, sums, nth := l.value(s.Nums)
	q := &quantity{Value: v, span: v.NumSpan, sums: sums, nth: nth}
	for _, lt := range s.Tail {
		t, ok := l.t.of(lt)
		if !ok {
			continue
		}
		q.span = cover(q.span, t.span)
		switch t.typ {
		case tMore:
			q.more = true
		case tTimes:
			q.times = true
			q.total = q.total || t.val == "total"
		case tUnit:
			if v.Unit != NoUnit && v.Unit != t.unit {
				l.fail(t.span, "one number cannot have two units", "", "")
				return q
			}
			if v.Unit == NoUnit {
				v.Unit, v.UnitSpan = t.unit, t.span
				v.Span = cover(v.Span, t.span)
			}
		}
	}
	if s.Second != nil {
		v2, _, _ := l.value(s.Second.Nums)
		if t, ok := l.t.of(s.Second.Unit); ok {
			v2.Unit, v2.UnitSpan = t.unit, t.span
			v2.Span = cover(v2.Span, t.span)
			q.span = cover(q.span, t.span)
		}
		if t, ok := l.t.of(s.Second.Close); ok {
			q.span = cover(q.span, t.span)
		}
		v.Second = v2
	}
	return q
}

func (l *lowerer) interval(s *intervalSyntax) *interval {
	iv := &interval{}
	set := func(list []lexer.Token) {
		for _, lt := range list {
			t, ok := l.t.of(lt)
			if !ok {
				continue
			}
			iv.span = cover(iv.span, t.span)
			switch t.typ {
			case tEvery:
				iv.every = true
			case tNext:
				iv.next = true
			case tFoll:
				iv.foll = true
			case tLast:
				if t.val == "this" {
					iv.next = true
				}
				iv.last = true
			case tAlt:
				iv.alt = true
			case tMore:
				iv.more = true
			case tSide:
				iv.side = RS
				if t.val == "WS" {
					iv.side = WS
				}
			}
		}
	}
	set(s.Head)
	if len(s.Nums) > 0 {
		iv.nums, _, iv.ordinal = l.value(s.Nums)
		iv.span = cover(iv.span, iv.nums.Span)
	}
	set(s.How)
	if t, ok := l.t.of(s.Unit); ok {
		iv.unit = t.unit
		iv.span = cover(iv.span, t.span)
		if iv.nums != nil {
			iv.nums.Unit = t.unit
			// `6 alt rows`: the unit does not follow the number at once
			if len(s.How) == 0 {
				iv.nums.UnitSpan = t.span
				iv.nums.Span = cover(iv.nums.Span, t.span)
			}
		}
	} else if iv.nums != nil {
		iv.nums.Unit = Rows
	}
	return iv
}

// parts decodes what participle read.
func (l *lowerer) parts(in []*partSyntax) []part {
	out := make([]part, 0, len(in))
	for _, s := range in {
		switch {
		case s.Quantity != nil:
			q := l.quantity(s.Quantity)
			if n := len(out); n > 0 && out[n-1].kind == pMore {
				// `a further 5 times`
				q.more = true
				q.span = cover(q.span, out[n-1].span)
				out = out[:n-1]
			}
			out = append(out, part{kind: pQuantity, span: q.span, q: q})
		case s.Interval != nil:
			iv := l.interval(s.Interval)
			out = append(out, part{kind: pInterval, span: iv.span, iv: iv})
		case s.Relation != nil:
			t, _ := l.t.of(s.Relation.Rel)
			p := part{kind: pRelation, span: t.span, val: t.val}
			if s.Relation.Quantity != nil {
				p.q = l.quantity(s.Relation.Quantity)
				p.span = cover(p.span, p.q.span)
			}
			if n, ok := l.t.of(s.Relation.Name); ok {
				p.word = n.word
				p.span = cover(p.span, n.span)
			}
			out = append(out, p)
		default:
			var t *tok
			for _, lt := range [...]lexer.Token{s.Joint, s.Flag, s.Name, s.Unit, s.More} {
				if x, ok := l.t.of(lt); ok {
					t = x
				}
			}
			if t == nil {
				continue
			}
			p := part{span: t.span, val: t.val, word: t.word, unit: t.unit}
			switch t.typ {
			case tComma:
				p.kind = pComma
			case tAnd:
				p.kind = pAnd
			case tThen:
				p.kind = pThen
			case tTopPlus:
				p.kind = pPlus
			case tFlag:
				p.kind = pFlag
			case tName:
				p.kind = pName
			case tUnit:
				p.kind = pUnit
			case tTimes:
				p.kind = pUnit
			default:
				p.kind = pMore
			}
			out = append(out, p)
		}
	}
	return out
}

func (l *lowerer) isFabric(key string) bool {
	rs := joinHyphens(scanText(key, false))
	if len(rs) == 0 {
		return false
	}
	n, k := matchName(l.names.joined, rs, 0)
	return n == len(rs) && k&aFabric != 0
}

// phrase lowers a whole instruction.
func (l *lowerer) phrase(s *phraseSyntax) Phrase {
	before := l.parts(s.Before)
	do := s.Do
	if do == nil {
		do = &instructionSyntax{}
	}
	parts := l.parts(do.Parts)
	if l.bad {
		return nil
	}
	verb := ""
	var verbSpan Span
	if t, ok := l.t.of(do.Verb); ok {
		verb, verbSpan = t.val, t.span
		if strings.EqualFold(l.text(t.span), "rib") && l.isFabric("rib") {
			// `rib 4 rows`
			l.mark.Fabric = &Word{Span: t.span, Text: l.text(t.span), Key: "rib"}
		}
	}
	if verb == "" {
		round, other := false, false
		for _, p := range before {
			switch {
			case p.kind == pFlag && p.val == "inround":
				round = true
			case p.kind != pComma && p.kind != pAnd:
				other = true
			}
		}
		if round && !other {
			l.mark.RowWord = Rounds
			return &Join{}
		}
		if goesOn(before) {
			return l.shape(false, false, l.common(before, ""), Span{})
		}
		return l.statement(l.common(before, ""))
	}
	meanwhile := false
	var lead []part
	for _, p := range before {
		switch {
		case p.kind == pFlag && p.val == "meanwhile":
			meanwhile = true
		case p.kind == pComma, p.kind == pAnd, p.kind == pThen:
		case p.kind == pFlag && p.val == "samerow":
			l.mark.SameRow = true
		case p.kind == pRelation && (p.val == "starting" || p.val == "after" || p.val == "from" || p.val == "in" || p.val == "inthe"), p.kind == pInterval, p.kind == pFlag, p.kind == pQuantity && p.q.times:
			lead = append(lead, p)
		case p.kind == pUnit:
		case (p.kind == pQuantity || p.kind == pInterval) && passive[fold(strings.ToLower(l.text(verbSpan)))]:
			lead = append(lead, p) // `92 sts are cast on`
		default:
			l.fail(p.span, "`"+l.text(p.span)+"` cannot stand before the instruction", "", "begin with what is done: "+verbWord(verb)+" …")
			return nil
		}
	}
	if passive[fold(strings.ToLower(l.text(verbSpan)))] {
		parts, lead = append(lead, parts...), nil
	}
	parts = l.common(append(parts, lead...), verb)
	if l.bad {
		return nil
	}
	for i := range parts {
		if parts[i].kind == pFlag && parts[i].val == "meanwhile" {
			meanwhile = true
			parts = append(parts[:i:i], parts[i+1:]...)
			break
		}
	}
	if meanwhile && verb != "dec" && verb != "inc" && verb != "repeat" {
		l.fail(verbSpan, "only shaping can run meanwhile", "An instruction that runs beside others takes no rows of its own.", "mark it as an instruction of its own")
		return nil
	}
	switch verb {
	case "caston":
		return l.castOn(parts, verbSpan)
	case "pickup":
		return l.pickUp(parts)
	case "work":
		return l.work(parts, verbSpan)
	case "dec", "inc":
		return l.shape(verb == "inc", meanwhile, parts, verbSpan)
	case "either":
		return l.evenly(verb, parts, verbSpan)
	case "repeat":
		return l.repeat(parts, meanwhile, verbSpan)
	case "bindoff":
		return l.bindOff(parts, verbSpan)
	case "turn":
		return l.turn(parts, verbSpan)
	case "hold":
		return l.hold(parts)
	case "resume":
		return l.resume(parts, verbSpan)
	case "across":
		return l.across(parts, verbSpan)
	case "divide":
		return l.divide(parts, verbSpan)
	case "join":
		return l.join(parts)
	case "panel":
		return l.panel(parts, verbSpan)
	case "endpanel":
		return l.endPanel(parts)
	case "space":
		return l.space(parts, verbSpan)
	case "draw":
		return l.close(DrawThrough, parts)
	case "fasten":
		return l.close(FastenOff, parts)
	case "graft":
		return l.close(Graft, parts)
	case "make":
		for _, p := range parts {
			if p.kind == pName {
				return l.space(parts, verbSpan) // `make 5 buttonholes evenly over 60 rows`
			}
		}
		return l.makeTwo(parts, verbSpan)
	case "twin":
		return l.twin(parts)
	}
	return nil
}

// goesOn says whether words without a verb go on with the shaping before them: `then on foll 5 rows`.
func goesOn(parts []part) bool {
	if len(parts) == 0 || parts[0].kind != pThen {
		return false
	}
	for _, p := range parts {
		if p.kind == pInterval {
			return true
		}
	}
	return false
}

// passive are verbs that stand behind what they are done to.
var passive = map[string]bool{"are cast on": true, "is cast on": true, "are bound off": true, "are cast off": true, "are increased": true, "is increased": true,
	"are decreased": true, "is decreased": true, "increased": true, "inc'd": true, "inc’d": true, "decreased": true, "dec'd": true, "dec’d": true, "are knitted": true, "are worked": true, "are ribbed": true, "are picked up": true, "is worked": true, "is knitted": true,
	"are knit": true, "are purled": true, "are picked up and knit": true, "are picked up and knitted": true}

var verbWords = map[string]string{
	"caston": "cast on", "pickup": "pick up", "work": "work", "dec": "decrease", "inc": "increase", "either": "increase or decrease",
	"repeat": "repeat", "bindoff": "bind off", "turn": "turn", "hold": "hold", "resume": "resume", "across": "knit across", "divide": "divide", "join": "join",
	"panel": "panel", "endpanel": "end panel", "space": "space", "draw": "draw through", "fasten": "fasten off", "graft": "graft", "make": "make", "twin": "work … as …",
}

func verbWord(v string) string {
	if w := verbWords[v]; w != "" {
		return w
	}
	return v
}

// common takes out the parts that any instruction may have.
func (l *lowerer) common(in []part, verb string) []part {
	out := make([]part, 0, len(in))
	for _, p := range in {
		switch p.kind {
		case pInterval:
			if (verb == "dec" || verb == "inc" || verb == "either") && p.iv.last && !p.iv.next && !p.iv.every && p.iv.nums == nil {
				l.mark.SameRow = true // `on the last row` of what was just worked
				continue
			}
		case pFlag:
			switch p.val {
			case "fromhere":
				l.mark.FromHere = true
				continue
			case "samerow":
				l.mark.SameRow = true
				continue
			case "spelledout":
				l.mark.SpelledOut = true
				continue
			case "inround":
				if verb != "join" || len(in) > 1 {
					l.mark.RowWord = Rounds
					continue
				}
				l.mark.RowWord = Rounds
			}
		case pUnit:
			// a unit without a number: `at each end of the row`, `the remaining sts`
			continue
		case pRelation:
			if p.val == "in" || p.val == "inthe" {
				if p.word == nil {
					l.fail(p.span, "`in` needs a fabric's name after it", "", "")
					return nil
				}
				if p.val == "inthe" && (verb == "dec" || verb == "inc") && !l.isFabric(p.word.Key) {
					break
				}
				if l.mark.Fabric != nil && l.mark.Fabric.Key != p.word.Key {
					l.fail(p.span, "one instruction cannot be in two fabrics", "", "")
					return nil
				}
				l.mark.Fabric = p.word
				continue
			}
			if p.val == "as" && p.word != nil {
				switch verb {
				case "hold", "divide", "twin", "":
				default:
					l.mark.Ties = append(l.mark.Ties, &TieAs{Span: p.span, Name: *p.word})
					continue
				}
			}
		}
		out = append(out, p)
	}
	// joints at the ends join nothing
	for len(out) > 0 && (out[0].kind == pComma || out[0].kind == pThen) {
		out = out[1:]
	}
	for len(out) > 0 && (out[len(out)-1].kind == pComma || out[len(out)-1].kind == pAnd || out[len(out)-1].kind == pThen) {
		out = out[:len(out)-1]
	}
	return out
}

func (l *lowerer) reject(p part, verb string) {
	what := "`" + l.text(p.span) + "`"
	l.fail(p.span, what+" does not belong in `"+verb+"`", "", "give it a brace of its own, or leave it outside the brace")
}

// stitches makes a count of stitches of q, whose unit may be left out.
func (l *lowerer) stitches(q *quantity, verb string) *Value {
	if q.Unit == NoUnit {
		q.Unit = Stitches
	}
	if q.Unit != Stitches || q.times {
		way := "give a number of stitches"
		if q.Unit.IsLength() {
			way += ", or give the length a brace of its own: `{until piece measures " + l.text(q.span) + "}`"
		}
		l.fail(q.span, "`"+verb+"` takes stitches, and this is `"+l.text(q.span)+"`", "", way)
	}
	if len(q.sums) > 0 {
		l.fail(q.span, "a layout cannot stand here", "", "give one count for each size: `98 (106, 114) sts`")
	}
	return q.Value
}

func rowsOf(iv *interval) *Value {
	if iv.nums != nil {
		return iv.nums
	}
	return one(iv.span.End, Rows)
}

// bare is a value without its unit: `the next 5 rows` says 5 times.
func bare(v *Value) *Value {
	b := *v
	b.Unit, b.UnitSpan, b.Span = NoUnit, Span{}, v.NumSpan
	return &b
}

// one is a 1 that the words imply: it has no spelling, so its spans are empty.
func one(at int, u Unit) *Value {
	s := Span{at, at}
	return &Value{Span: s, NumSpan: s, UnitSpan: s, Unit: u, Nums: []Num{{Span: s, Val: big.NewRat(1, 1)}}}
}

func (l *lowerer) castOn(parts []part, verb Span) Phrase {
	c := &CastOn{}
	var rest []*Value
	var shares []part
	for _, p := range parts {
		switch {
		case p.kind == pQuantity && c.Count == nil:
			c.Count, c.More = l.stitches(p.q, "cast on"), p.q.more
		case p.kind == pQuantity && (p.q.Unit == NoUnit || p.q.Unit == Stitches) && !p.q.times:
			rest = append(rest, l.stitches(p.q, "cast on"))
		case p.kind == pFlag && (p.val == "eachneedle" || p.val == "needles" || p.val == "thisneedle"):
			shares = append(shares, p)
		case p.kind == pFlag && (p.val == "end" || p.val == "beginning" || p.val == "eachend"):
			c.EndOfRow = true
		case p.kind == pFlag && (p.val == "evenly" || p.val == "rem" || p.val == "all" || p.val == "each" || p.val == "eachside" || p.val == "centre"):
		case p.kind == pInterval && (p.iv.next || p.iv.foll || p.iv.every) && c.Rows == nil:
			c.EndOfRow = true
			c.Rows = rowsOf(p.iv)
		case p.kind == pRelation && p.word != nil && (p.val == "at" || p.val == "over" || p.val == "along" || p.val == "after" || p.val == "before") && c.Where == nil:
			c.Where = p.word
		case p.kind == pRelation && p.val == "for" && p.word != nil && c.Where == nil:
			switch last := p.word.Key[strings.LastIndexByte(p.word.Key, ' ')+1:]; last {
			case "underarm", "underarms", "gap", "steek", "armhole", "buttonhole":
				c.Where = p.word
			}
		case p.kind == pRelation && (p.val == "for" || p.val == "of"), p.kind == pComma, p.kind == pAnd:
		default:
			l.reject(p, "cast on")
			return nil
		}
	}
	if c.Count == nil {
		l.fail(l.mark.PhraseSpan, "how many stitches are cast on?", "", "write the count: `cast on 98 sts`")
		return nil
	}
	if v := strings.ToLower(l.text(verb)); len(shares) == 0 && (v == "cast" || v == "set") {
		l.fail(verb, "`"+v+"` says no instruction", "", "write `cast on`")
		return nil
	}
	l.needles(c, rest, shares)
	return c
}

// needles settles how a cast-on is shared out: `24 sts on each of 2 needles, and 20 on the 3rd`; `48 sts on three needles, 16 on each`.
func (l *lowerer) needles(c *CastOn, rest []*Value, shares []part) {
	if len(shares) == 0 {
		if len(rest) > 0 {
			l.fail(rest[0].Span, "`"+l.text(rest[0].Span)+"` does not belong in `cast on`", "", "give it a brace of its own, or leave it outside the brace")
		}
		return
	}
	each := shares[0]
	n := int64(each.unit)
	switch {
	case len(rest) == 0 && each.val == "eachneedle":
		if c.Needles = n; n == 0 {
			c.Needles = -1
		}
	case len(rest) == 1 && each.span.Start < rest[0].Span.Start && len(shares) > 1 && shares[1].val == "thisneedle":
		c.Needles, c.Rest = n, rest[0]
	case len(rest) > 0 && (each.val == "eachneedle" && each.unit > 0 || len(shares) < 2 && each.span.Start < rest[0].Span.Start):
		l.fail(rest[0].Span, "`"+l.text(rest[0].Span)+"` does not belong in `cast on`", "", "give it a brace of its own, or leave it outside the brace")
	case len(rest) > 0:
		c.Shares = rest // the count is said whole before
	}
}

func (l *lowerer) pickUp(parts []part) Phrase {
	u := &PickUp{}
	var where Span
	for _, p := range parts {
		switch {
		case p.kind == pQuantity && u.Count == nil:
			u.Count = l.stitches(p.q, "pick up")
		case p.kind == pQuantity && p.q.Unit.IsRows() && u.PerRows == nil:
			u.PerRows = p.q.Value
		case p.kind == pInterval && u.PerRows == nil && u.Count != nil:
			u.PerRows = rowsOf(p.iv)
		case p.kind == pFlag && (p.val == "evenly" || p.val == "rem" || p.val == "each" || p.val == "all" || p.val == "eachside" || p.val == "end" || p.val == "beginning" || p.val == "centre"):
		case p.kind == pRelation && p.val == "of" && p.word != nil:
			u.Of = p.word
		case p.kind == pRelation && p.val == "over" && p.q != nil && p.q.Unit.IsRows():
			u.PerRows = p.q.Value
		case p.kind == pRelation && p.val == "for" && p.q != nil && p.q.Unit.IsRows():
			u.PerRows = p.q.Value
		case p.kind == pRelation && p.word != nil && p.val != "until" && p.val != "match":
			if u.Where == nil {
				u.Where = p.word
			}
			where = cover(where, p.span)
		case p.kind == pComma, p.kind == pAnd:
		default:
			l.reject(p, "pick up")
			return nil
		}
	}
	if u.Count == nil {
		l.fail(l.mark.PhraseSpan, "how many stitches are picked up?", "", "write the count, `pick up 64 sts`, or the rate, `pick up 3 sts for every 4 rows`")
		return nil
	}
	if u.PerRows != nil {
		u.PerSts, u.Count = u.Count, nil
		if u.Of == nil {
			u.Of = u.Where
		}
	}
	return u
}

func (l *lowerer) work(parts []part, verb Span) Phrase {
	for _, p := range parts {
		if verb != (Span{}) && p.kind == pInterval && p.iv.last && !p.iv.every && p.iv.unit.IsRows() && len(parts) > 1 {
			return l.repeat(parts, false, verb) // `work the last 2 rows 4 more times`
		}
	}
	w := &Work{}
	put := func(q *quantity, to bool) bool {
		switch {
		case q.times && w.Repeats == nil:
			w.Repeats = q.Value
		case q.Unit == Repeats && w.Repeats == nil:
			w.Repeats = q.Value
		case q.Unit.IsRows() && w.Rows == nil && (w.Length == nil || w.To):
			w.Rows = q.Value
			w.To = w.To || to
		case q.Unit.IsLength() && w.Length == nil:
			w.Length = q.Value
			w.To = w.To || to
		default:
			return false
		}
		return true
	}
	for _, p := range parts {
		switch {
		case p.kind == pQuantity && p.q.Unit == NoUnit && !p.q.times:
			l.fail(p.span, "is `"+l.text(p.span)+"` rows or a length?", "", "write the unit: `18 rows`, `6 cm`")
			return nil
		case p.kind == pQuantity && put(p.q, false):
		case p.kind == pInterval && p.iv.nums != nil && (p.iv.next || p.iv.foll) && !p.iv.alt && w.Rows == nil:
			w.Rows = p.iv.nums
		case p.kind == pInterval && p.iv.nums == nil && (p.iv.next || p.iv.foll || p.iv.side != NoSide) && w.Rows == nil && p.iv.unit.IsRows() && !p.iv.every:
			w.Rows = one(p.span.End, p.iv.unit)
		case p.kind == pInterval && p.iv.every && p.iv.nums == nil && len(parts) > 1: // `every row in rib`
		case p.kind == pRelation && (p.val == "to" || p.val == "until") && p.q != nil:
			if p.q.Unit == Stitches {
				l.fail(p.span, "`work` leaves the stitches as they are", "", "to reach a count, decrease or increase: `decrease 1 st at each end of every 4th row until 78 sts remain`")
				return nil
			}
			if !put(p.q, true) {
				l.reject(p, "work")
				return nil
			}
		case p.kind == pRelation && (p.val == "for" || p.val == "over") && p.q != nil && put(p.q, false):
		case p.kind == pRelation && p.val == "from" && p.word != nil && w.From == nil:
			w.From = p.word
		case p.kind == pRelation && p.val == "match" && p.word != nil && w.Match == nil:
			w.Match = p.word
		case p.kind == pRelation && p.val == "of" && p.word != nil && w.Match != nil && w.MatchOf == nil:
			w.MatchOf = p.word
		case p.kind == pRelation && p.val == "of" && p.word != nil:
			// `18 rows of rib`
			if l.isFabric(p.word.Key) && l.mark.Fabric == nil {
				l.mark.Fabric = p.word
			}
		case p.kind == pRelation && p.val == "after" && p.word != nil && w.From == nil && w.Length != nil:
			w.From = p.word
		case p.kind == pRelation && p.val == "for" && p.word != nil:
		case p.kind == pRelation && p.val == "at" && p.word != nil && w.Match != nil && w.MatchOf == nil:
			w.MatchOf = p.word
		case p.kind == pName && l.isFabric(p.word.Key) && l.mark.Fabric == nil:
			l.mark.Fabric = p.word // `work lace for 24 rows`
		case p.kind == pComma, p.kind == pAnd, p.kind == pThen:
		case p.kind == pFlag && (p.val == "rem" || p.val == "all" || p.val == "inround" || p.val == "evenly" || p.val == "eachside"):
		case p.kind == pRelation && p.val == "to" && p.word != nil:
			l.fail(p.span, "how far is `"+l.text(p.span)+"`?", "`work to` takes a length, measured from the cast-on or from a label.", "write `work to 38 cm`, `work to 20 cm from "+p.word.Text+"`, or `work to match "+p.word.Text+" of …`")
			return nil
		default:
			l.reject(p, "work")
			return nil
		}
	}
	if w.Rows == nil && w.Length == nil && w.Match == nil {
		if w.Repeats != nil {
			l.fail(w.Repeats.Span, "repeats of how many rows?", "", "write `work 2 repeats of 12 rows`")
			return nil
		}
		s := verb
		if s == (Span{}) {
			s = l.mark.PhraseSpan
		}
		l.fail(s, "how many rows, or how far?", "", "write `work 18 rows`, `work 6 cm` or `work to 38 cm`")
		return nil
	}
	return w
}

func endsOf(flag string) (Ends, bool) {
	switch flag {
	case "eachend", "eachside":
		return EachEnd, true
	case "beginning":
		return Beginning, true
	case "end":
		return End, true
	case "markers":
		return Markers, true
	case "eachmarker":
		return EachMarker, true
	}
	return Unplaced, false
}

// stretch is one clause of a schedule before it is known whose.
type stretch struct {
	span     Span
	first    *interval // `next row and …`
	iv       *interval
	times    *quantity
	sts      *quantity
	where    Where
	hasWhere bool
}

func (s *stretch) started() bool { return s.iv != nil || s.times != nil }

// schedule is what several verbs share: stitches, places, clauses.
type schedule struct {
	sts       *quantity
	list      []*stretch
	starting  bool
	until     *quantity
	after     *Word
	afterBy   *quantity
	where     Where
	parts     []Word
	rest      []part
	evenly    bool
	beforeEnd bool
}

func (l *lowerer) schedule(parts []part) *schedule {
	s := &schedule{}
	cur := &stretch{}
	then, and, soft := false, false, false
	push := func() {
		if cur.started() || cur.sts != nil {
			s.list = append(s.list, cur)
		}
		cur = &stretch{}
	}
	for i := 0; i < len(parts); i++ {
		p := parts[i]
		if p.kind == pQuantity && p.q.nth && (p.q.Unit.IsRows() || p.q.Unit == NoUnit) {
			// `the 5th and every foll 6th row`: once on the 5th, then on
			v := p.q.Value
			if v.Unit == NoUnit {
				v.Unit = Rows
			}
			p = part{kind: pInterval, span: p.span, iv: &interval{span: p.span, foll: true, nums: v, ordinal: true, unit: v.Unit}}
		}
		switch p.kind {
		case pThen:
			then = true
			continue
		case pAnd:
			and = true
			continue
		case pComma:
			soft = true
			continue
		case pInterval:
			if s.until != nil && (len(s.list) > 0 || cur.iv != nil) {
				s.rest = append(s.rest, p) // what comes after `until 78 sts remain` is an instruction of its own
				break
			}
			switch {
			case cur.iv != nil && and && !then && cur.first == nil && (cur.iv.next || cur.iv.foll && !cur.iv.every) && cur.iv.nums == nil && cur.times == nil && (p.iv.every || p.iv.foll):
				cur.first, cur.iv = cur.iv, p.iv
				cur.span = cover(cur.span, p.span)
			case cur.iv != nil, then && cur.started():
				push()
				cur.iv = p.iv
				cur.span = p.span
			default:
				cur.iv = p.iv
				cur.span = cover(cur.span, p.span)
			}
		case pQuantity:
			q := p.q
			switch {
			case q.times:
				if cur.times != nil {
					push()
				}
				cur.times = q
				cur.span = cover(cur.span, p.span)
			case q.Unit == Stitches || q.Unit == NoUnit:
				if cur.started() || cur.sts != nil {
					push()
				}
				cur.sts = q
				if len(s.list) > 0 {
					cur.span = cover(cur.span, p.span)
				}
			default:
				s.rest = append(s.rest, p)
			}
		case pFlag:
			if e, ok := endsOf(p.val); ok {
				l.place(s, cur, Where{Span: p.span, Ends: e})
				break
			}
			switch p.val {
			case "startnext":
				s.starting = true
			case "rem", "each", "all":
			case "evenly":
				s.evenly = true
			case "beforeend":
				s.beforeEnd = true
			default:
				s.rest = append(s.rest, p)
			}
		case pRelation:
			switch {
			case p.val == "at" && p.word != nil:
				w := Where{Span: p.span, Ends: NamedEdge, Edge: edgeName(p.word.Key)}
				for _, both := range []string{"each ", "both ", "every ", "either "} {
					if rest, ok := strings.CutPrefix(w.Edge, both); ok {
						w.Ends, w.Edge = EachEnd, rest
					}
				}
				l.place(s, cur, w)
			case (p.val == "in" || p.val == "inthe") && p.word != nil:
				s.parts = append(s.parts, *p.word)
				for i+2 < len(parts) && (parts[i+1].kind == pAnd || parts[i+1].kind == pComma) && parts[i+2].kind == pName {
					s.parts = append(s.parts, *parts[i+2].word)
					i += 2
				}
			case (p.val == "until" || p.val == "to") && p.q != nil && s.until == nil:
				s.until = p.q
			case p.val == "starting" && p.q != nil:
				s.afterBy = p.q
			case (p.val == "after" || p.val == "from") && p.word != nil && s.after == nil:
				s.after = p.word
			case p.val == "after" && p.q != nil && s.afterBy == nil:
				s.afterBy = p.q
			case p.val == "for" && p.word != nil, p.val == "of" && p.word != nil:
			case p.val == "for" && p.q != nil && p.q.times:
				cur.times = p.q
				cur.span = cover(cur.span, p.span)
			case p.val == "before" && p.q == nil && p.word != nil && (p.word.Key == "end" || strings.HasPrefix(p.word.Key, "end ") || strings.HasSuffix(p.word.Key, "turn")):
				s.beforeEnd = true
			default:
				s.rest = append(s.rest, p)
			}
		case pUnit:
		default:
			s.rest = append(s.rest, p)
		}
		then, and, soft = false, false, false
	}
	_ = soft
	push()
	if len(s.list) > 0 {
		s.sts = s.list[0].sts
	}
	return s
}

func edgeName(key string) string {
	key = strings.TrimSuffix(strings.TrimSuffix(key, " edges"), " edge")
	return strings.TrimSuffix(key, "-edge")
}

func (l *lowerer) place(s *schedule, cur *stretch, w Where) {
	if s.where.Span == (Span{}) {
		s.where = w
	}
	if cur.hasWhere && w.Ends == End && cur.where.Ends == Beginning {
		cur.where.Ends = EachEnd
		cur.where.Span = cover(cur.where.Span, w.Span)
		if s.where.Span.Start == cur.where.Span.Start {
			s.where = cur.where
		}
		return
	}
	cur.where, cur.hasWhere = w, true
	if cur.started() || len(s.list) > 0 {
		cur.span = cover(cur.span, w.Span)
	}
}

// clause lowers one stretch of shaping.
func (l *lowerer) clause(st *stretch, until, first bool) *Clause {
	c := &Clause{Span: st.span}
	iv := st.iv
	if iv == nil {
		l.fail(st.span, "on which rows?", "The number of times is said, not how often.", "write how often: `every 4th row 6 times`, `every row 4 times`")
		return c
	}
	c.EverySpan = iv.span
	c.OnSide = iv.side
	if iv.more {
		c.More = true
	}
	if st.times != nil {
		c.Times, c.TimesSpan, c.More = st.times.Value, st.times.span, st.times.more
		if st.times.total && !first {
			l.fail(st.times.span, "`"+l.text(st.times.span)+"` can only be said of the first stretch of shaping", "", "leave it out, and count the times of this stretch alone: `on the 5th row and every following 6th row 4 times`")
			return c
		}
	}
	words := func() {
		switch {
		case iv.alt, iv.side != NoSide:
			c.Step = 2
		default:
			c.Step = 1
		}
	}
	countFirst := (iv.next || iv.foll) && !iv.every && iv.nums != nil && !iv.ordinal
	switch {
	case countFirst:
		c.Kind = OnNext
		words()
		c.CountFirst = true
		if c.Times != nil {
			l.fail(st.times.span, "the times are said twice", "`"+l.text(iv.span)+"` says how often already.", "")
			return c
		}
		c.Times, c.TimesSpan = bare(iv.nums), iv.nums.NumSpan
	case iv.nums != nil:
		c.Kind = OnLast
		c.Every = iv.nums
		if iv.alt || iv.side != NoSide {
			l.fail(iv.span, "`"+l.text(iv.span)+"` can be counted in two ways", "", "say how many rows: `every 4th row`")
			return c
		}
	case (iv.next || iv.foll && !iv.every) && !iv.alt && st.first == nil:
		if c.Times == nil {
			c.Kind = OneRow
			return c
		}
		c.Kind = OnNext
		words()
	case iv.next && iv.alt && !iv.every:
		c.Kind = OnNext
		words()
	default:
		c.Kind = OnLast
		words()
	}
	if st.first != nil {
		c.Kind = NextAnd
		if st.times != nil && st.times.total {
			c.Kind = OnNext // the next row is among them: what `starting on the next row` says
		}
		c.Span = cover(c.Span, st.first.span)
		if c.Times == nil && !iv.every && !until {
			c.Times = one(st.span.End, NoUnit)
			c.TimesSpan = c.Times.Span
		}
	}
	if c.Times == nil && !until {
		if iv.next || iv.foll {
			c.Times = one(st.span.End, NoUnit)
			c.TimesSpan = c.Times.Span
			return c
		}
		l.fail(iv.span, "how many times?", "`"+l.text(iv.span)+"` says how often, not when to stop.", "add `6 times`, or `until 78 sts remain`")
	}
	return c
}

func (l *lowerer) clauses(s *schedule) (out []*Clause, list Span) {
	for i, st := range s.list {
		if !st.started() && len(s.list) == 1 {
			break
		}
		c := l.clause(st, s.until != nil && i == len(s.list)-1, len(out) == 0)
		if l.bad {
			return nil, list
		}
		if i > 0 && st.sts != nil {
			c.Sts = l.stitches(st.sts, "a schedule")
		}
		out = append(out, c)
		list = cover(list, c.Span)
	}
	return out, list
}

// shape reads shaping by schedule. Without a verb it goes on with the shaping marked before it.
func (l *lowerer) shape(inc, meanwhile bool, parts []part, verb Span) Phrase {
	name := "decrease"
	if inc {
		name = "increase"
	}
	s := l.schedule(parts)
	if l.bad {
		return nil
	}
	if s.evenly || (len(s.list) == 1 && s.list[0].iv != nil && s.list[0].iv.every && s.list[0].iv.nums != nil && s.list[0].iv.unit == NoUnit && s.list[0].times == nil && !s.list[0].iv.ordinal) {
		return l.evenly(name, parts, verb)
	}
	if s.sts != nil && s.where.Ends == Unplaced && len(s.list) == 1 && s.list[0].iv != nil && s.list[0].iv.last && !s.list[0].iv.every && s.list[0].iv.nums == nil && s.list[0].times == nil && s.until == nil {
		return l.evenly(name, parts, verb) // `increase 2 sts in the last row`
	}
	// `decrease 1 st in every 4 sts`
	if len(s.list) >= 1 && s.list[0].iv != nil && s.list[0].iv.unit == Stitches {
		return l.evenly(name, parts, verb)
	}
	if len(s.rest) == 1 && s.rest[0].kind == pInterval && s.rest[0].iv.last && !s.rest[0].iv.every && s.sts != nil && s.where.Ends == Unplaced {
		return l.evenly(name, parts, verb) // `increase 2 sts in the last row`
	}
	for _, p := range s.rest {
		l.reject(p, name)
		return nil
	}
	then := verb == Span{}
	if s.sts == nil && !then && !l.singly(s, verb) {
		l.fail(verb, "how many stitches a time?", "", "write `"+name+" 1 st at each end of every 4th row 6 times`")
		return nil
	}
	x := &Shape{Increase: inc, Where: s.where, Starting: s.starting, Meanwhile: meanwhile, Then: then}
	if s.sts != nil {
		x.Sts = l.stitches(s.sts, name)
	}
	x.Where.Parts = s.parts
	if s.until != nil {
		x.Until = l.stitches(s.until, "until")
	}
	if s.after != nil || s.afterBy != nil {
		if !meanwhile {
			l.fail(l.mark.PhraseSpan, "only what runs meanwhile can start at a place of its own", "An instruction begins where the one before it ends.", "say `meanwhile`, or leave the place out")
			return nil
		}
		x.After = s.after
		if s.afterBy != nil {
			x.AfterBy = s.afterBy.Value
		}
	}
	x.Clauses, x.ListSpan = l.clauses(s)
	if l.bad {
		return nil
	}
	if len(x.Clauses) == 0 {
		if s.until != nil {
			l.fail(l.mark.PhraseSpan, "on which rows?", "", "write how often: `every 2nd row until 78 sts remain`")
			return nil
		}
		at := l.mark.PhraseSpan.End
		sp := Span{at, at}
		x.Clauses = []*Clause{{Span: sp, EverySpan: sp, Kind: OneRow}}
		x.ListSpan = sp
	}
	return x
}

// singly says whether shaping that gives no count means one stitch at each place: `dec at each end`, `narrow`, `increase a stitch`.
func (l *lowerer) singly(s *schedule, verb Span) bool {
	switch v := strings.ToLower(l.text(verb)); {
	case s.where.Ends == EachEnd, s.where.Ends == Beginning, s.where.Ends == End, s.where.Ends == NamedEdge, s.until != nil:
		return true
	case strings.HasSuffix(v, "tog"), strings.HasSuffix(v, "together"), strings.HasPrefix(v, "narrow"), strings.HasPrefix(v, "widen"):
		return true
	}
	text := " " + strings.ToLower(l.text(l.mark.PhraseSpan)) + " "
	return strings.Contains(text, " a stitch ") || strings.Contains(text, " a st ")
}

func (l *lowerer) evenly(verb string, parts []part, verbSpan Span) Phrase {
	e := &Evenly{Increase: verb == "inc" || verb == "increase", Either: verb == "either", VerbSpan: verbSpan}
	name := verbWord(verb)
	for _, p := range parts {
		switch {
		case p.kind == pQuantity && e.Count == nil && !p.q.times && (p.q.Unit == Stitches || p.q.Unit == NoUnit):
			e.Count = l.stitches(p.q, name)
		case p.kind == pQuantity && p.q.Unit == Stitches && e.To == nil && e.Count != nil:
			e.To = p.q.Value
		case p.kind == pRelation && (p.val == "to" || p.val == "until") && p.q != nil && e.To == nil:
			e.To = l.stitches(p.q, name)
		case p.kind == pInterval && p.iv.every && p.iv.nums != nil && e.InEvery == nil:
			e.InEvery = p.iv.nums
			if e.InEvery.UnitSpan == (Span{}) || p.iv.unit == NoUnit {
				e.InEvery.Unit = Stitches
			}
		case p.kind == pInterval && p.iv.nums == nil && (p.iv.next || p.iv.foll || p.iv.last || p.iv.side != NoSide) && !p.iv.every:
		case p.kind == pFlag && (p.val == "evenly" || p.val == "rem" || p.val == "each" || p.val == "all"):
		case p.kind == pComma, p.kind == pAnd, p.kind == pThen:
		case p.kind == pRelation && p.word != nil && (p.val == "for" || p.val == "of" || p.val == "over" || p.val == "along" || p.val == "at"):
		default:
			l.reject(p, name+" evenly")
			return nil
		}
	}
	if e.Count == nil && e.To == nil {
		l.fail(verbSpan, "by how many stitches, or to how many?", "", "write `"+strings.SplitN(name, " or ", 2)[0]+" 8 sts evenly`, or `… evenly to 204 sts`")
		return nil
	}
	if e.Either && e.To == nil {
		l.fail(verbSpan, "`increase or decrease` needs the count to reach", "", "write `increase or decrease evenly to 204 sts`")
		return nil
	}
	return e
}

func (l *lowerer) repeat(parts []part, meanwhile bool, verb Span) Phrase {
	r := &Repeat{Meanwhile: meanwhile}
	rest := parts[:0:0]
	for _, p := range parts {
		switch {
		case p.kind == pName && r.Row == nil && r.LastRows == nil:
			if list, ok := strings.CutPrefix(p.word.Key, "rows "); ok {
				for _, f := range strings.Fields(list) {
					n, err := strconv.ParseInt(f, 10, 32)
					if err != nil {
						l.reject(p, "repeat")
						return nil
					}
					r.Labels = append(r.Labels, n)
				}
				r.LastRows = one(p.span.End, Rows)
				r.LastRows.Nums[0].Val = big.NewRat(int64(len(r.Labels)), 1)
				continue
			}
			r.Row = p.word
		case p.kind == pInterval && p.iv.last && !p.iv.every && r.Row == nil && r.LastRows == nil:
			r.LastRows = rowsOf(p.iv)
		case p.kind == pRelation && p.val == "from" && p.word != nil && r.Row == nil && r.LastRows == nil:
			r.Row = p.word
		case p.kind == pRelation && p.val == "along":
		default:
			rest = append(rest, p)
		}
	}
	if r.Row == nil && r.LastRows == nil {
		l.fail(verb, "repeat what?", "", "name a row (`repeat the decrease row …`, with `as decrease row` after the bar of its instruction), or say `repeat the last 2 rows 11 more times`")
		return nil
	}
	s := l.schedule(rest)
	if l.bad {
		return nil
	}
	for _, p := range s.rest {
		l.reject(p, "repeat")
		return nil
	}
	if s.sts != nil {
		l.fail(s.sts.span, "what is repeated has its stitches already", "", "leave the stitches out")
		return nil
	}
	for _, st := range s.list {
		if st.times != nil && st.times.total && st.first == nil {
			l.fail(st.times.span, "`"+l.text(st.times.span)+"` may or may not count the row that is repeated", "", "say how many more times it is worked: `4 more times`")
			return nil
		}
	}
	if s.until != nil {
		r.Until = l.stitches(s.until, "until")
	}
	if len(s.list) == 1 && s.list[0].iv == nil && s.list[0].times != nil {
		r.Times, r.More = s.list[0].times.Value, s.list[0].times.more
		r.ListSpan = s.list[0].times.span
		if r.Row != nil && r.LastRows == nil {
			// `repeat the decrease row 5 more times`: on every row
			r.Clauses = []*Clause{{Span: r.ListSpan, EverySpan: Span{r.ListSpan.Start, r.ListSpan.Start}, Step: 1, Times: r.Times, TimesSpan: r.ListSpan, More: r.More}}
		}
		return r
	}
	r.Clauses, r.ListSpan = l.clauses(s)
	if l.bad {
		return nil
	}
	for _, c := range r.Clauses {
		r.More = r.More || c.More
	}
	if len(r.Clauses) == 0 && r.Until == nil {
		r.Times = one(l.mark.PhraseSpan.End, NoUnit)
		r.ListSpan = r.Times.Span
	}
	return r
}

func (l *lowerer) bindOff(parts []part, verb Span) Phrase {
	if slices.ContainsFunc(parts, func(p part) bool { return p.kind == pName }) {
		return l.boundTogether(parts)
	}
	for i, p := range parts {
		if p.kind == pInterval && p.iv.nums != nil && p.iv.unit == Stitches && !p.iv.every {
			parts[i] = part{kind: pQuantity, span: p.span, q: &quantity{Value: p.iv.nums, span: p.iv.nums.Span}} // `the next 28 sts`
		}
	}
	b := &BindOff{}
	rest := l.centreOf(b, parts)
	s := l.schedule(rest)
	if l.bad {
		return nil
	}
	for _, p := range s.rest {
		if p.kind == pRelation && p.word != nil && (p.val == "over" || p.val == "along" || p.val == "to") {
			continue
		}
		l.reject(p, "bind off")
		return nil
	}
	switch {
	case s.until != nil:
		l.fail(s.until.span, "`bind off` does not take `until`", "", "say how many stitches and rows: `bind off 3 sts at the beginning of the next 4 rows`")
		return nil
	case b.Centre != nil && s.sts != nil:
		l.fail(s.sts.span, "a centre bind-off has one count", "", "")
		return nil
	case b.Centre != nil:
		return b
	case !slices.ContainsFunc(s.list, func(st *stretch) bool { return st.started() }):
		l.boundAtOnce(b, s, rest)
	default:
		l.boundInSteps(b, s)
	}
	if l.bad {
		return nil
	}
	return b
}

// boundTogether reads `bind off A with B`.
func (l *lowerer) boundTogether(parts []part) Phrase {
	b := &BindOff{}
	for _, p := range parts {
		switch {
		case p.kind == pName && b.A == nil:
			b.A = p.word
		case p.kind == pRelation && (p.val == "with" || p.val == "to") && p.word != nil && b.With == nil, p.kind == pName && b.With == nil:
			b.With = p.word
		case p.kind == pAnd, p.kind == pComma, p.kind == pFlag && (p.val == "all" || p.val == "rem"):
		case p.kind == pRelation && p.val == "for":
		default:
			l.reject(p, "bind off")
			return nil
		}
	}
	if b.With == nil {
		l.fail(b.A.Span, "`"+b.A.Text+"` is bound off with what?", "", "write `bind off A with B`, or resume it and `bind off all sts`")
		return nil
	}
	return b
}

// centreOf takes `the centre 20 sts, leaving 29 sts each side` and `all` out of the parts.
func (l *lowerer) centreOf(b *BindOff, parts []part) (rest []part) {
	for i := 0; i < len(parts); i++ {
		p := parts[i]
		switch {
		case p.kind == pFlag && p.val == "centre":
			if i+1 < len(parts) && parts[i+1].kind == pQuantity {
				b.Centre = l.stitches(parts[i+1].q, "bind off")
				i++
			}
		case p.kind == pRelation && p.val == "leaving":
			if p.q == nil {
				l.fail(p.span, "leaving how many stitches each side?", "", "write `leaving 29 sts each side`")
				return nil
			}
			b.Leaving = l.stitches(p.q, "leaving")
			if i+1 < len(parts) && parts[i+1].kind == pFlag && (parts[i+1].val == "eachside" || parts[i+1].val == "each" || parts[i+1].val == "eachend") {
				i++
			}
			for i+1 < len(parts) && parts[i+1].kind == pRelation && (parts[i+1].val == "for" || parts[i+1].val == "of") {
				i++
			}
		case p.kind == pFlag && (p.val == "all" || p.val == "rem"):
			b.All = true
		default:
			rest = append(rest, p)
		}
	}
	if b.Leaving == nil || b.Centre != nil {
		return rest
	}
	if i := slices.IndexFunc(rest, func(p part) bool { return p.kind == pQuantity }); i >= 0 {
		b.Centre = l.stitches(rest[i].q, "bind off")
		rest = slices.Delete(rest, i, i+1)
	}
	return rest
}

// boundAtOnce is a bind-off that says no rows: of all stitches, of some in the row, or of some at its beginning.
func (l *lowerer) boundAtOnce(b *BindOff, s *schedule, rest []part) {
	if len(s.list) > 1 {
		l.fail(s.list[1].sts.span, "on which rows?", "", "write `3 sts at the beginning of the next 2 rows`")
		return
	}
	if s.sts != nil {
		b.Count = l.stitches(s.sts, "bind off")
	} else {
		b.All = true
	}
	switch s.where.Ends {
	case NamedEdge:
		for _, p := range rest {
			if p.kind == pRelation && p.val == "at" {
				b.Where = p.word
			}
		}
	case Beginning, End, EachEnd:
		if b.Count == nil {
			l.fail(s.where.Span, "how many stitches are bound off?", "", "")
			return
		}
		st := &Step{Span: cover(s.sts.spanOr(s.where.Span), s.where.Span), Sts: b.Count, Where: s.where, Rows: one(l.mark.PhraseSpan.End, Rows)}
		b.Steps, b.ListSpan, b.Count = []*Step{st}, st.Span, nil
	}
}

// boundInSteps is a stepped edge: what a step does not say, how many stitches and where, it has from the one before.
func (l *lowerer) boundInSteps(b *BindOff, s *schedule) {
	b.All = false
	var where Where
	var sts *Value
	for _, st := range s.list {
		step := &Step{Span: st.span}
		if st.sts != nil {
			sts = l.stitches(st.sts, "bind off")
			step.Span = cover(step.Span, st.sts.span)
		}
		if st.hasWhere {
			where = st.where
			step.Span = cover(step.Span, where.Span)
		}
		if sts == nil {
			l.fail(st.span, "how many stitches are bound off?", "", "write `bind off 5 sts at the beginning of the next 2 rows`")
			return
		}
		step.Sts, step.Where = sts, where
		if st.first != nil {
			f := &Step{Span: cover(step.Span, st.first.span), Sts: sts, Where: where, Rows: rowsOf(st.first)}
			b.Steps = append(b.Steps, f)
			b.ListSpan = cover(b.ListSpan, f.Span)
		}
		if l.rowsOfStep(step, st); l.bad {
			return
		}
		b.Steps = append(b.Steps, step)
		b.ListSpan = cover(b.ListSpan, step.Span)
	}
}

// rowsOfStep reads on which rows a step is bound off: `the next 2 rows`, `every 2nd row 2 times`, `the next 3 alt rows`.
func (l *lowerer) rowsOfStep(step *Step, st *stretch) {
	iv := st.iv
	ahead := iv != nil && (iv.next || iv.foll) && !iv.every && !iv.ordinal
	switch {
	case iv == nil && st.times == nil:
		l.fail(step.Span, "on which rows?", "", "write `3 sts at the beginning of the next 2 rows`, or `2 sts every 2nd row 2 times`")
		return
	case iv == nil:
		step.EveryStep = 2
		step.EverySpan = Span{st.times.span.Start, st.times.span.Start}
	case ahead && !iv.alt && iv.side == NoSide:
		if st.times != nil {
			l.fail(st.times.span, "the times are said twice", "`"+l.text(iv.span)+"` says how many rows already.", "")
			return
		}
		step.Rows = rowsOf(iv)
		return
	case ahead && iv.nums != nil:
		step.EveryStep, step.EverySpan = 2, iv.span
		step.Times, step.TimesSpan = bare(iv.nums), iv.nums.NumSpan
		return
	case iv.nums != nil:
		step.Every, step.EverySpan = iv.nums, iv.span
	case iv.alt, iv.side != NoSide:
		step.EveryStep, step.EverySpan = 2, iv.span
	default:
		step.EveryStep, step.EverySpan = 1, iv.span
	}
	switch {
	case st.times != nil:
		step.Times, step.TimesSpan = st.times.Value, st.times.span
	case iv.every && st.first == nil:
		l.fail(iv.span, "how many times?", "", "add `2 times`")
	default:
		step.Times = one(iv.span.End, NoUnit)
		step.TimesSpan = step.Times.Span
	}
}

func (q *quantity) spanOr(s Span) Span {
	if q == nil {
		return s
	}
	return q.span
}

func (l *lowerer) turn(parts []part, verb Span) Phrase {
	s := l.schedule(parts)
	if l.bad {
		return nil
	}
	for _, p := range s.rest {
		l.reject(p, "turn")
		return nil
	}
	t := &Turn{Where: s.where}
	for _, st := range s.list {
		if st.sts == nil || st.iv != nil && (st.iv.nums != nil && !(st.times != nil && pairs(st.iv.nums)) || st.first != nil) {
			sp := st.span
			if st.iv != nil {
				sp = st.iv.span
			}
			l.fail(sp, "short rows are counted in turns", "One time is two rows.", "write `turn 6 sts before the end, 4 times`")
			return nil
		}
		x := &TurnStep{Sts: l.stitches(st.sts, "turn"), Span: cover(st.sts.span, st.span)}
		if st.span == (Span{}) {
			x.Span = st.sts.span
		}
		if st.times != nil {
			x.Times, x.TimesSpan = st.times.Value, st.times.span
			x.Span = cover(x.Span, x.TimesSpan)
		} else {
			x.Times = one(x.Span.End, NoUnit)
			x.TimesSpan = x.Times.Span
		}
		t.Steps = append(t.Steps, x)
		t.ListSpan = cover(t.ListSpan, x.Span)
	}
	if len(t.Steps) == 0 {
		l.fail(verb, "turn where?", "", "write `turn 6 sts before the end, 4 times`")
		return nil
	}
	return t
}

// pairs says whether v is two rows for every size.
func pairs(v *Value) bool {
	for _, n := range v.Nums {
		if n.Val.Cmp(big.NewRat(2, 1)) != 0 {
			return false
		}
	}
	return true
}

func (l *lowerer) hold(parts []part) Phrase {
	h := &Hold{}
	for i, p := range parts {
		if p.kind == pRelation && p.val == "from" && p.word != nil && (strings.Contains(p.word.Key, "hold") || strings.Contains(p.word.Key, "thread") || strings.Contains(p.word.Key, "waste") || strings.Contains(p.word.Key, "scrap") || strings.Contains(p.word.Key, "spare")) {
			// `slip 30 sts from the holder`; without a count, all that is on it
			return l.resume(append(append(parts[:i:i], part{kind: pFlag, val: "all", span: p.span}), parts[i+1:]...), l.mark.PhraseSpan)
		}
	}
	for _, p := range parts {
		switch {
		case p.kind == pQuantity && h.Count == nil:
			h.Count = l.stitches(p.q, "hold")
		case p.kind == pRelation && (p.val == "as" || p.val == "for") && p.word != nil && h.Name == nil:
			h.Name = p.word
		case p.kind == pFlag && p.val == "forgood":
			h.ForGood = true
		case p.kind == pFlag && (p.val == "all" || p.val == "rem" || p.val == "eachside" || p.val == "centre" || p.val == "each"):
		case p.kind == pInterval && p.iv.nums != nil && (p.iv.next || p.iv.last || p.iv.foll || p.iv.alt) && h.Count == nil:
			h.Count = p.iv.nums
			h.Count.Unit = Stitches
		case p.kind == pInterval && p.iv.last && p.iv.nums == nil && !p.iv.every && (p.iv.unit == Stitches || p.iv.unit == NoUnit):
			// `leave these sts on a holder`
		case p.kind == pComma, p.kind == pAnd:
		case p.kind == pRelation && p.word != nil && (p.val == "at" || p.val == "of" || p.val == "to" || p.val == "over"):
		case p.kind == pName:
			l.fail(p.span, "how many stitches of `"+l.text(p.span)+"` are held?", "What `divide` parted is set aside already, and comes back with `resume`.", "leave the braces out, or write `hold 30 sts as` with a name of its own")
			return nil
		default:
			l.reject(p, "hold")
			return nil
		}
	}
	return h
}

func (l *lowerer) resume(parts []part, verb Span) Phrase {
	var name *Word
	var count *Value
	rest := false
	for _, p := range parts {
		switch {
		case p.kind == pName && name == nil:
			name = p.word
		case p.kind == pQuantity && count == nil:
			count = l.stitches(p.q, "resume")
			rest = true
		case p.kind == pFlag && (p.val == "rem" || p.val == "all"):
			rest = true
		case p.kind == pInterval && (p.iv.last || p.iv.next) && count == nil:
			rest = true
			if count = p.iv.nums; count != nil {
				count.Unit = Stitches
			}
		case p.kind == pRelation && (p.val == "for" || p.val == "of" || p.val == "at") && p.word != nil:
		case p.kind == pComma, p.kind == pAnd:
		default:
			l.reject(p, "resume")
			return nil
		}
	}
	if name == nil && !rest {
		l.fail(verb, "resume what?", "", "name the held work: `resume left front`")
		return nil
	}
	r := &Resume{Count: count}
	if name != nil {
		r.Name = *name
	}
	return r
}

// across reads `knit across the 13 sts of pocket lining`.
func (l *lowerer) across(parts []part, verb Span) Phrase {
	r := &Resume{Across: true}
	for _, p := range parts {
		switch {
		case p.kind == pName && r.Name.Key == "", p.kind == pRelation && p.word != nil && r.Name.Key == "":
			r.Name = *p.word
		case p.kind == pQuantity && r.Count == nil:
			r.Count = l.stitches(p.q, "knit across")
		case p.kind == pFlag && (p.val == "rem" || p.val == "all"), p.kind == pUnit && p.unit == Stitches:
		case p.kind == pComma, p.kind == pAnd:
		default:
			l.reject(p, "knit across")
			return nil
		}
	}
	if r.Name.Key == "" {
		l.fail(verb, "across what?", "", "name the held work: `knit across the pocket lining`")
		return nil
	}
	return r
}

// namedParts reads `78 sts as back, 78 sts as front`, `24 sts as shoulder + 30 sts`.
func (l *lowerer) namedParts(parts []part, verb string) []Part {
	var out []Part
	var counts []*quantity
	for i := 0; i < len(parts); i++ {
		p := parts[i]
		switch {
		case p.kind == pQuantity:
			if p.q.sums != nil {
				list := l.scatter(counts, p.q)
				if list == nil {
					return nil
				}
				out = append(out[:len(out)-len(counts)], list...)
				counts = nil
				continue
			}
			if p.q.Unit == NoUnit {
				p.q.Unit = Stitches
			}
			if p.q.Unit != Stitches || p.q.times {
				l.fail(p.span, "parts are counted in stitches", "", "")
				return nil
			}
			out = append(out, Part{Count: p.q.Value})
			counts = append(counts, p.q)
		case p.kind == pRelation && (p.val == "as" || p.val == "for") && p.word != nil && len(out) > 0 && out[len(out)-1].Name == nil:
			out[len(out)-1].Name = p.word
		case p.kind == pComma, p.kind == pAnd, p.kind == pThen, p.kind == pPlus:
		case p.kind == pFlag && (p.val == "rem" || p.val == "all" || p.val == "each"):
		case p.kind == pRelation && p.word != nil && (p.val == "of" || p.val == "at" || p.val == "over" || p.val == "along"):
		default:
			l.reject(p, verb)
			return nil
		}
	}
	return out
}

// scatter puts together a layout written size by size: `12 + 12 + 16 (12 + 16 + 16, 16 + 16 + 16) sts`.
func (l *lowerer) scatter(before []*quantity, last *quantity) []Part {
	k := len(before) + 1
	for _, s := range last.sums {
		if len(s) != k {
			l.fail(last.span, "the sizes are laid out over different numbers of parts", "Before the bracket the parts are "+itoa(k)+", in it "+itoa(len(s))+".", "lay every size out over the same parts")
			return nil
		}
	}
	out := make([]Part, k)
	for i := range out {
		first := last.Nums[0]
		if i < len(before) {
			if len(before[i].Nums) != 1 {
				l.fail(before[i].span, "a layout is written size by size or part by part, not both", "", "")
				return nil
			}
			first = before[i].Nums[0]
		}
		v := &Value{Scattered: true, Unit: Stitches, Nums: []Num{first}, Style: last.Style}
		for _, s := range last.sums {
			v.Nums = append(v.Nums, s[i])
		}
		if last.Unit != NoUnit && last.Unit != Stitches {
			l.fail(last.UnitSpan, "parts are counted in stitches", "", "")
			return nil
		}
		if i == k-1 {
			v.UnitSpan = last.UnitSpan
		}
		v.NumSpan = Span{v.Nums[0].Span.Start, v.Nums[len(v.Nums)-1].Span.End}
		v.Span = v.NumSpan
		out[i].Count = v
	}
	return out
}

func itoa(n int) string {
	return new(big.Int).SetInt64(int64(n)).String()
}

func (l *lowerer) divide(parts []part, verb Span) Phrase {
	list := l.namedParts(parts, "divide")
	if l.bad {
		return nil
	}
	if len(list) < 2 {
		l.fail(verb, "divide into what?", "", "write `divide into 78 sts as back, 78 sts as front`")
		return nil
	}
	for _, p := range list {
		if p.Name == nil {
			l.fail(p.Count.Span, "what is this part called?", "Each part is taken up again by its name.", "write `78 sts as back`")
			return nil
		}
	}
	return &Divide{Parts: list}
}

func (l *lowerer) join(parts []part) Phrase {
	j := &Join{}
	for _, p := range parts {
		switch {
		case p.kind == pName:
			j.Names = append(j.Names, *p.word)
		case p.kind == pQuantity && j.Count == nil:
			j.Count = l.stitches(p.q, "join")
		case p.kind == pFlag && p.val == "inround":
			l.mark.RowWord = Rounds
		case p.kind == pComma, p.kind == pAnd, p.kind == pPlus, p.kind == pThen, p.kind == pFlag && (p.val == "all" || p.val == "rem"):
		case p.kind == pRelation && p.val == "for":
		case p.kind == pRelation && (p.val == "to" || p.val == "with") && p.word != nil:
			j.Names = append(j.Names, *p.word)
		default:
			l.reject(p, "join")
			return nil
		}
	}
	if j.Count == nil && len(j.Names) < 2 && l.mark.RowWord != Rounds {
		l.fail(l.mark.PhraseSpan, "join what?", "", "write the count, `join 300 sts`, or the names, `join back, front and sleeve`; what is taken into the row in hand is `knit across left sleeve`")
		return nil
	}
	return j
}

func (l *lowerer) panel(parts []part, verb Span) Phrase {
	x := &Panel{}
	for _, p := range parts {
		switch {
		case p.kind == pQuantity && x.Count == nil:
			x.Count = l.stitches(p.q, "panel")
		case p.kind == pRelation && p.val == "after" && p.q != nil && x.After == nil:
			x.After = l.stitches(p.q, "panel")
		case p.kind == pFlag && p.val == "centre":
		case p.kind == pComma:
		default:
			l.reject(p, "panel")
			return nil
		}
	}
	if x.Count == nil {
		l.fail(verb, "how many stitches has the panel?", "", "write `panel of 24 sts in cable after 22 sts`")
		return nil
	}
	return x
}

func (l *lowerer) endPanel(parts []part) Phrase {
	e := &EndPanel{}
	for _, p := range parts {
		switch {
		case (p.kind == pName || p.kind == pRelation) && p.word != nil && e.Name == nil:
			e.Name = p.word
		default:
			l.reject(p, "end panel")
			return nil
		}
	}
	if e.Name == nil {
		e.Name = l.mark.Fabric
	}
	return e
}

func (l *lowerer) space(parts []part, verb Span) Phrase {
	s := &Space{}
	what := false
	var last *quantity
	for _, p := range parts {
		switch {
		case p.kind == pQuantity && s.Count == nil:
			s.Count = p.q.Value
		case p.kind == pName && !what:
			s.What, what = *p.word, true
		case p.kind == pQuantity && (p.q.Unit == Stitches || p.q.Unit.IsRows() || p.q.Unit == NoUnit):
			last = p.q
			if s.Each == nil && p.q.Unit != NoUnit {
				s.Each = p.q.Value
			}
		case p.kind == pRelation && p.val == "over" && p.q != nil && s.Over == nil:
			s.Over = p.q.Value
		case p.kind == pRelation && (p.val == "before" || p.val == "after"):
			q := p.q
			if q == nil {
				q = last
				if q != nil && s.Each == q.Value {
					s.Each = nil
				}
			}
			if q == nil {
				l.reject(p, "space")
				return nil
			}
			if p.val == "before" {
				s.Before = q.Value
			} else {
				s.After = q.Value
			}
			last = nil
		case p.kind == pFlag && p.val == "endsin":
			s.EndsIncluded = true
		case p.kind == pFlag && p.val == "endsout":
			s.EndsLeftOut = true
		case p.kind == pFlag && (p.val == "evenly" || p.val == "each" || p.val == "all" || p.val == "rem"), p.kind == pComma, p.kind == pAnd:
		case p.kind == pRelation && (p.val == "along" || p.val == "of" || p.val == "at" || p.val == "for"):
		case p.kind == pInterval && p.iv.nums != nil && (p.iv.next || p.iv.foll || p.iv.last) && s.Over == nil:
			s.Over = p.iv.nums
		default:
			l.reject(p, "space")
			return nil
		}
	}
	if s.Count == nil || s.Over == nil || !what {
		l.fail(verb, "space how many of what, over how many rows or stitches?", "", "write `space 7 buttonholes over 90 rows`")
		return nil
	}
	return s
}

func (l *lowerer) close(how CloseKind, parts []part) Phrase {
	c := &Close{How: how}
	verb := map[CloseKind]string{DrawThrough: "draw through", FastenOff: "fasten off", Graft: "graft"}[how]
	for _, p := range parts {
		switch {
		case p.kind == pQuantity && c.Count == nil:
			c.Count = l.stitches(p.q, verb)
		case p.kind == pInterval && (p.iv.last || p.iv.foll || p.iv.next) && c.Count == nil:
			if p.iv.nums != nil {
				c.Count = p.iv.nums
				c.Count.Unit = Stitches
			}
		case p.kind == pName && how == Graft && c.A == nil:
			c.A = p.word
		case p.kind == pName && how == Graft && c.B == nil:
			c.B = p.word
		case p.kind == pRelation && (p.val == "to" || p.val == "with") && p.word != nil && how == Graft && c.A != nil && c.B == nil:
			c.B = p.word
		case p.kind == pFlag && (p.val == "all" || p.val == "rem" || p.val == "each" || p.val == "eachside"), p.kind == pComma, p.kind == pAnd:
		case p.kind == pRelation && p.word != nil && (p.val == "at" || p.val == "of" || p.val == "for" || p.val == "to" || p.val == "along"):
		default:
			l.reject(p, verb)
			return nil
		}
	}
	if c.A != nil && c.B == nil {
		if l.isLabel(c.A.Key) {
			l.fail(c.A.Span, "`"+c.A.Text+"` is grafted to what?", "", "write `graft A to B`, or `graft 16 sts`")
			return nil
		}
		c.A = nil // `graft toe`: what the seam is for
	}
	return c
}

func (l *lowerer) isLabel(key string) bool {
	rs := joinHyphens(scanText(key, false))
	if len(rs) == 0 {
		return false
	}
	n, k := matchName(l.names.joined, rs, 0)
	return n == len(rs) && k&aLabel != 0
}

func (l *lowerer) makeTwo(parts []part, verb Span) Phrase {
	m := &Make{}
	for _, p := range parts {
		switch {
		case p.kind == pQuantity && m.Count == nil && p.q.Unit == NoUnit && !p.q.times:
			m.Count = p.q.Value
		case p.kind == pRelation && (p.val == "for" || p.val == "as" || p.val == "of"), p.kind == pComma, p.kind == pFlag && p.val == "all":
		default:
			l.reject(p, "make")
			return nil
		}
	}
	if m.Count == nil {
		l.fail(verb, "make how many?", "", "write `make 2`")
		return nil
	}
	return m
}

func (l *lowerer) twin(parts []part) Phrase {
	t := &Twin{}
	for _, p := range parts {
		switch {
		case p.kind == pName && t.Name.Key == "":
			t.Name = *p.word
		case p.kind == pRelation && p.val == "as" && p.word != nil:
			t.As = *p.word
		case p.kind == pRelation && (p.val == "to" || p.val == "until") && p.word != nil && t.To == nil:
			t.To = p.word
		case p.kind == pComma:
		default:
			l.reject(p, "work … as …")
			return nil
		}
	}
	if t.As.Key == "" {
		l.fail(l.mark.PhraseSpan, "work what as what?", "", "write `work right front as left front`")
		return nil
	}
	return t
}

// statement lowers what has no verb: counts, lengths, layouts, gauges, yarn, and work whose verb stands in the prose.
func (l *lowerer) statement(parts []part) Phrase {
	if l.bad {
		return nil
	}
	var qs []*quantity
	plus, to := false, false
	for _, p := range parts {
		switch p.kind {
		case pQuantity:
			qs = append(qs, p.q)
		case pPlus:
			plus = true
		case pRelation:
			if (p.val == "to" || p.val == "over" || p.val == "for") && p.q != nil && p.q.Unit.IsLength() {
				to = true
			}
		}
	}
	switch {
	case plus, len(qs) == 1 && qs[0].sums != nil, len(qs) > 1 && allStitches(qs) && hasNames(parts):
		list := l.namedParts(parts, "a layout")
		if l.bad {
			return nil
		}
		return &Layout{Parts: list}
	case (len(qs) == 2 || len(qs) == 3 && qs[2].Unit.IsLength()) && to && qs[0].Unit == Stitches && qs[1].Unit.IsRows():
		return l.gaugeSaid(parts, qs)
	case len(qs) == 1 && to && qs[0].Unit == Stitches && qs[0].Second != nil && qs[0].Second.Unit.IsRows():
		// `20 sts/28 rows to 10 cm`
		rows := &quantity{Value: qs[0].Second, span: qs[0].Second.Span}
		qs[0].Second = nil
		return l.gaugeSaid(parts, append(qs, rows))
	case len(qs) == 1 && to && qs[0].Unit == Stitches:
		l.fail(qs[0].span, "a gauge needs its rows too", "", "write `22 sts and 30 rows to 10 cm`")
		return nil
	}
	for _, p := range parts {
		if p.kind == pRelation && (p.val == "to" || p.val == "until" || p.val == "for" || p.val == "over") && p.q != nil || p.kind == pRelation && p.val == "match" ||
			p.kind == pQuantity && p.q.more && (p.q.Unit.IsRows() || p.q.Unit.IsLength()) ||
			p.kind == pInterval && (p.iv.next || p.iv.foll) && p.iv.nums != nil && !p.iv.alt && len(qs) == 0 {
			return l.work(parts, Span{})
		}
	}
	st := &Statement{}
	said := false // `76 in all`, `76 remain`: stitches, without the word
	for _, p := range parts {
		said = said || p.kind == pFlag && p.val == "rem" && len(qs) == 1
		switch {
		case p.kind == pQuantity && st.Value == nil:
			if p.q.times {
				l.fail(p.span, "what is done `"+l.text(p.span)+"`?", "", "put the instruction in the brace with its times")
				return nil
			}
			st.Value = p.q.Value
		case p.kind == pFlag && (p.val == "eachside" || p.val == "each"):
			st.EachSide = p.val == "eachside" || st.EachSide
		case p.kind == pFlag && (p.val == "rem" || p.val == "all" || p.val == "centre"):
		case p.kind == pRelation && p.val == "from" && p.word != nil && st.From == nil:
			st.From = p.word
		case p.kind == pRelation && (p.val == "of" || p.val == "for" || p.val == "at" || p.val == "along" || p.val == "over") && p.word != nil:
			if p.val == "of" && st.Of == nil {
				st.Of = p.word
			}
		case p.kind == pRelation && p.val == "leaving" && p.q != nil && st.Value == nil:
			st.Value = p.q.Value
		case p.kind == pRelation && p.val == "as" && p.word != nil:
			l.mark.Ties = append(l.mark.Ties, &TieAs{Span: p.span, Name: *p.word})
		case p.kind == pComma, p.kind == pAnd:
		case p.kind == pName:
			l.fail(p.span, "what about `"+l.text(p.span)+"`?", "A name alone says nothing that can be followed.", "write what is done, `resume "+p.word.Text+"`, or a count with its unit")
			return nil
		default:
			l.fail(p.span, "`"+l.text(p.span)+"` says no instruction", "", "begin with what is done (cast on, work, decrease, …), or give a count with its unit")
			return nil
		}
	}
	if st.Value == nil {
		l.fail(l.mark.PhraseSpan, "there is no instruction and no number in this brace", "", `write an instruction, or \{ for a brace that is only a brace`)
		return nil
	}
	switch u := st.Value.Unit; {
	case u == NoUnit && !st.EachSide && st.From == nil && st.Of == nil && !said:
		return &Figure{Value: st.Value}
	case u == NoUnit:
		st.Value.Unit = Stitches
	case u == Grams, u == Ounces, u == Metres, u == Yards, u == Balls:
		return &Amount{Value: st.Value}
	case u == Percent, u == Repeats:
		l.fail(st.Value.Span, "`"+l.text(st.Value.Span)+"` says no instruction", "", "")
		return nil
	}
	return st
}

func allStitches(qs []*quantity) bool {
	for _, q := range qs {
		if q.Unit != Stitches && q.Unit != NoUnit {
			return false
		}
	}
	return true
}

func hasNames(parts []part) bool {
	for _, p := range parts {
		if p.kind == pRelation && (p.val == "as" || p.val == "for") && p.word != nil {
			return true
		}
	}
	return false
}

func (l *lowerer) gaugeSaid(parts []part, qs []*quantity) Phrase {
	g := &GaugeSaid{}
	g.Gauge.Stitches, g.Gauge.Rows, g.Gauge.Rounds = qs[0].Value, qs[1].Value, qs[1].Unit == Rounds
	for _, p := range parts {
		switch {
		case p.kind == pQuantity:
			g.Gauge.Span = cover(g.Gauge.Span, p.span)
		case p.kind == pRelation && p.q != nil && p.q.Unit.IsLength() && g.Gauge.Over == nil:
			g.Gauge.Over = p.q.Value
			g.Gauge.Span = cover(g.Gauge.Span, p.q.Value.Span)
		case p.kind == pAnd, p.kind == pComma:
		case p.kind == pRelation && p.word != nil && (p.val == "of" || p.val == "for" || p.val == "over"):
		default:
			l.reject(p, "a gauge")
			return nil
		}
	}
	return g
}
