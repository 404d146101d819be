package grammar

import (
	"strings"
)

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
	if len(parts) == 0 {
		l.mark.RowWord = Rounds // `join` and no more: its ends to one another
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

// firstOf is what `the second sleeve to match` is worked as: the first sleeve.
func firstOf(name Word, at Span) Word {
	for _, second := range []string{"second", "2nd", "other"} {
		if rest, ok := strings.CutPrefix(strings.TrimPrefix(name.Key, "the "), second+" "); ok {
			return Word{Span: name.Span, Text: "first " + rest, Key: "first " + rest}
		}
	}
	if name.Key == "" {
		return Word{Span: at, Text: "the first", Key: "first"}
	}
	return Word{}
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
		t.As = firstOf(t.Name, l.mark.PhraseSpan)
	}
	if t.As.Key == "" {
		l.fail(l.mark.PhraseSpan, "work what as what?", "", "write `work right front as left front`")
		return nil
	}
	return t
}
