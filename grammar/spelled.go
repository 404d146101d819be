package grammar

import (
	"strconv"
	"strings"
)

// stitch is what one stroke of a row does: the stitches it takes up and those it makes.
type stitch struct{ takes, makes int64 }

// strokes are the abbreviations of a row's text that change the count or stand for one stitch.
var strokes = map[string]stitch{
	"k2tog": {2, 1}, "p2tog": {2, 1}, "k2togtbl": {2, 1}, "p2togtbl": {2, 1}, "ssk": {2, 1}, "ssp": {2, 1}, "skp": {2, 1}, "skpo": {2, 1}, "sskp": {2, 1}, "narrow": {2, 1}, "s1k1p": {2, 1},
	"k3tog": {3, 1}, "p3tog": {3, 1}, "sssk": {3, 1}, "sk2p": {3, 1}, "s2kp": {3, 1}, "s2kpo": {3, 1}, "cdd": {3, 1}, "sk2po": {3, 1}, "k4tog": {4, 1}, "p4tog": {4, 1},
	"m1": {0, 1}, "m1l": {0, 1}, "m1r": {0, 1}, "m1p": {0, 1}, "m1lp": {0, 1}, "m1rp": {0, 1}, "yo": {0, 1}, "yon": {0, 1}, "yrn": {0, 1}, "yfwd": {0, 1}, "mk1": {0, 1}, "rli": {0, 1}, "lli": {0, 1},
	"kfb": {1, 2}, "pfb": {1, 2}, "kf&b": {1, 2}, "inc": {1, 2}, "inc1": {1, 2}, "kfbf": {1, 3}, "widen": {1, 2}, "bobble": {1, 1},
}

// spelledOut reads a stretch of a row that is repeated so many times, `(k8, k2tog) 10 times`; nil where the words are none.
func (p *fileParser) spelledOut(rs []raw) Phrase {
	if len(rs) < 4 || len(rs) > 60 {
		return nil
	}
	open, close := rs[0].key, ""
	switch open {
	case "(":
		close = ")"
	case "[":
		close = "]"
	case "*":
		close = "*"
	default:
		return nil
	}
	end := 1
	for end < len(rs) && rs[end].key != close && !(close == "*" && rs[end].key == ";") {
		end++
	}
	if end >= len(rs) || end == 1 {
		return nil
	}
	s := &Spelled{}
	var ok bool
	if s.Takes, s.Makes, ok = rowText(rs[1:end]); !ok || s.Takes == 0 {
		return nil
	}
	rest := rs[end:]
	if rest[0].key == ")" || rest[0].key == "]" || rest[0].key == "*" {
		rest = rest[1:]
	}
	// `; rep from * 9 more times`
	more := false
	for len(rest) > 0 && (rest[0].kind == rawPunct && strings.Contains(",;*", rest[0].key) || rest[0].key == "rep" || rest[0].key == "repeat" || rest[0].key == "from" || rest[0].key == "for" || rest[0].key == "total" || rest[0].key == "a" || rest[0].key == "of" || rest[0].key == "." || rest[0].key == "work" || rest[0].key == "x") {
		more = more || rest[0].key == "rep" || rest[0].key == "repeat"
		rest = rest[1:]
	}
	t := phraseTokens(p.text, rest, p.names, nil)
	if len(t.unknown) > 0 || len(t.list) == 0 {
		return nil
	}
	tree, _, parsed := parsePhrase(t.tokens)
	if !parsed || tree.Do != nil && tree.Do.Parts != nil || len(tree.Before) != 1 {
		return nil
	}
	var diags Diagnostics
	l := &lowerer{src: p.text, t: t.tokens, names: p.names, mark: &Mark{}, diags: &diags}
	parts := l.parts(tree.Before)
	if l.bad || len(parts) != 1 || parts[0].kind != pQuantity || !parts[0].q.times || parts[0].q.Unit != NoUnit {
		return nil
	}
	s.Times, s.More = parts[0].q.Value, more
	if more && !parts[0].q.more {
		return nil // `rep from * 9 times`: in all, or more?
	}
	s.Span = Span{rs[0].span.Start, rs[len(rs)-1].span.End}
	return s
}

// onNeedles reads how stitches are laid out over needles: `twenty stitches on two of the needles, and forty on the other`; nil where the
// words say nothing of it.
func (p *fileParser) onNeedles(rs []raw) Phrase {
	if len(rs) < 6 || len(rs) > 24 || rs[0].kind != rawNum && !(len(rs) > 6 && rs[1].kind == rawNum) {
		return nil
	}
	i := 0
	word := func(words ...string) bool {
		for _, w := range words {
			if i < len(rs) && rs[i].key == w {
				i++
				return true
			}
		}
		return false
	}
	number := func() (*Value, int64) {
		if i >= len(rs) || rs[i].kind != rawNum || rs[i].val == nil || !rs[i].val.IsInt() || rs[i].ordinal || rs[i].times {
			return nil, 0
		}
		r := &rs[i]
		i++
		v := &Value{Span: r.span, NumSpan: r.span, Unit: Stitches, Nums: []Num{{Span: r.span, Text: p.text[r.span.Start:r.span.End], Val: r.val}}}
		return v, r.val.Num().Int64()
	}
	word("put", "place", "have", "with")
	first, _ := number()
	if first == nil {
		return nil
	}
	word("stitches", "sts")
	if !word("on", "upon") {
		return nil
	}
	if word("each") && !word("of") {
		return nil
	}
	word("the")
	_, n := number()
	if n < 2 || n > 6 {
		return nil
	}
	word("of")
	word("the")
	if !word("needles", "pins") {
		return nil
	}
	word(",")
	if !word("and") {
		return nil
	}
	last, _ := number()
	if last == nil {
		return nil
	}
	word("stitches", "sts")
	if !word("on", "upon") {
		return nil
	}
	word("the")
	if !word("other", "third", "3rd", "last", "fourth", "4th", "3d") {
		return nil
	}
	word("needle", "pin")
	if i != len(rs) {
		return nil
	}
	l := &Layout{}
	for range n {
		l.Parts = append(l.Parts, Part{Count: first})
	}
	l.Parts = append(l.Parts, Part{Count: last})
	return l
}

// rowText is what the text of a row takes up and makes; ok is false where it holds something that is not understood.
func rowText(rs []raw) (takes, makes int64, ok bool) {
	add := func(s stitch, n int64) {
		takes += s.takes * n
		makes += s.makes * n
	}
	for i := 0; i < len(rs); i++ {
		r := &rs[i]
		number := func(j int) (int64, bool) {
			if j < len(rs) && rs[j].kind == rawNum && rs[j].val != nil && rs[j].val.IsInt() && rs[j].val.Num().IsInt64() {
				n := rs[j].val.Num().Int64()
				return n, n > 0 && n < 10_000
			}
			return 0, false
		}
		switch {
		case r.kind == rawPunct && (r.key == "," || r.key == ";" || r.key == "." || r.key == "-"):
			continue
		case r.key == "and" || r.key == "then" || r.key == "the" || r.key == "next" || r.key == "sts" || r.key == "st" || r.key == "stitches" || r.key == "stitch":
			continue
		}
		if s, known := strokes[r.key]; known {
			n := int64(1)
			if k, is := number(i + 1); is && (r.key == "inc" || r.key == "widen" || r.key == "narrow") {
				n = k
				i++
			}
			if r.key == "k2tog" && i+1 < len(rs) && rs[i+1].key == "tbl" {
				i++
			}
			add(s, n)
			continue
		}
		switch r.key {
		case "k", "p", "knit", "purl", "sl", "slip":
			n, is := number(i + 1)
			if !is {
				return 0, 0, false
			}
			i++
			j := i + 1
			for j < len(rs) && (rs[j].key == "sts" || rs[j].key == "st" || rs[j].key == "stitches") {
				j++
			}
			if j < len(rs) && (rs[j].key == "tog" || rs[j].key == "together") {
				add(stitch{n, 1}, 1)
				i = j
				continue
			}
			add(stitch{1, 1}, n)
			continue
		case "make", "m":
			n, is := number(i + 1)
			if !is {
				return 0, 0, false
			}
			i++
			add(stitch{0, 1}, n)
			continue
		}
		// `k10`, `p3`, `sl1`
		letters := strings.TrimRight(r.key, "0123456789")
		if n, err := strconv.ParseInt(r.key[len(letters):], 10, 32); err == nil && n > 0 && (letters == "k" || letters == "p" || letters == "sl") {
			add(stitch{1, 1}, n)
			continue
		}
		return 0, 0, false
	}
	return takes, makes, takes > 0 || makes > 0
}
