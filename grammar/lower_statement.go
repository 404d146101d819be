package grammar

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
