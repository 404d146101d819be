package grammar

import (
	"math/big"
	"strconv"
	"strings"
)

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
