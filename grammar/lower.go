package grammar

import (
	"math/big"
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

func itoa(n int) string {
	return new(big.Int).SetInt64(int64(n)).String()
}
