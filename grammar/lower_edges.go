package grammar

import (
	"math/big"
	"slices"
	"strings"
)

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
