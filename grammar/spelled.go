package grammar

import (
	"regexp"
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
	"kfb": {1, 2}, "pfb": {1, 2}, "kf&b": {1, 2}, "pf&b": {1, 2}, "k1f&b": {1, 2}, "p1f&b": {1, 2}, "k1fb": {1, 2}, "psso": {0, -1}, "inc": {1, 2}, "inc1": {1, 2}, "kfbf": {1, 3}, "widen": {1, 2}, "bobble": {1, 1},
}

// toEnd is what says that a stretch is repeated to the end of the row: `; rep from * around`, `to end of rnd`.
var toEnd = regexp.MustCompile(`^(?:[,;] )*(?:(?:rep|repeat|repeating) from \*$|(?:(?:rep|repeat|repeating) (?:from \* )?)?` +
	`(?:(?:around|across|all (?:the way )?(?:around|round))(?: (?:the )?(?:row|round|rnd))?|(?:to|until) (?:the )?end(?: of (?:the )?(?:row|round|rnd))?)$)`)

// allRound reads a stretch that is repeated to the end of the row, `*k6, k2tog; rep from * around`, `k2tog around`; nil where the
// words are none, or hold a stitch that is not understood.
func (p *fileParser) allRound(rs []raw) *Spelled {
	if len(rs) < 2 || len(rs) > 60 {
		return nil
	}
	from, to, rest := 0, 0, 0
	switch close := map[string]string{"(": ")", "[": "]", "*": "*"}[rs[0].key]; close {
	case "":
		// without brackets one stroke alone: `k1, k2tog around` may mean either
		if k := rs[0].key; k == "inc" || k == "narrow" || k == "widen" {
			return nil // `inc across` does not say in which stitches
		}
		for to < len(rs) && rs[to].key != "around" && rs[to].key != "across" && rs[to].key != "all" && rs[to].key != "to" && rs[to].key != "until" {
			to++
		}
		rest = to
	default:
		from, to = 1, 1
		for to < len(rs) && rs[to].key != close && !(close == "*" && rs[to].key == ";") {
			to++
		}
		if rest = to; rest < len(rs) && rs[rest].key == close {
			rest++
		}
	}
	if to >= len(rs) || !toEnd.Match(appendKeys(nil, rs[rest:])) {
		return nil
	}
	does, strokes, strange := rowText(rs[from:to])
	if strange >= 0 || does.takes == 0 || does.makes <= 0 || from == 0 && (strokes != 1 || does.takes == does.makes) {
		return nil
	}
	return &Spelled{Span: Span{rs[0].span.Start, rs[len(rs)-1].span.End}, Takes: does.takes, Makes: does.makes}
}

// spelledOut reads a stretch of a row that is repeated so many times, `(k8, k2tog) 10 times`; nil where the words are none.
func (p *fileParser) spelledOut(rs []raw) Phrase {
	if s := p.allRound(rs); s != nil {
		return s
	}
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
	does, _, strange := rowText(rs[1:end])
	if s.Takes, s.Makes = does.takes, does.makes; strange >= 0 || s.Takes == 0 || s.Makes < 0 {
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

// strangeStroke is the stitch that is not understood in a stretch that is repeated, `*k6, wibble, k2tog; rep from * around`; -1 where
// the words are none, or nothing in them is.
func strangeStroke(rs []raw) int {
	if len(rs) < 3 {
		return -1
	}
	close := map[string]string{"(": ")", "[": "]", "*": "*"}[rs[0].key]
	if close == "" {
		return -1
	}
	end := 1
	for end < len(rs) && rs[end].key != close && !(close == "*" && rs[end].key == ";") {
		end++
	}
	_, strokes, strange := rowText(rs[1:end])
	if end == len(rs) || strange < 0 || strange >= end-1 {
		return -1
	}
	if _, after, _ := rowText(rs[2+strange : end]); strokes+after == 0 {
		return -1 // none of it is a row's text
	}
	return 1 + strange
}

// rowText is what the text of a row takes up and makes, and in how many strokes; strange is the first word that is not understood,
// -1 where all are.
func rowText(rs []raw) (all stitch, strokes, strange int) {
	for i := 0; i < len(rs); {
		r := &rs[i]
		switch {
		case r.kind == rawPunct && (r.key == "," || r.key == ";" || r.key == "." || r.key == "-"),
			r.key == "and" || r.key == "then" || r.key == "the" || r.key == "next" || r.key == "sts" || r.key == "st" || r.key == "stitches" || r.key == "stitch",
			r.key == "tbl" && strokes > 0:
			i++
			continue
		}
		s, n := strokeAt(rs[i:])
		if n == 0 {
			return stitch{}, strokes, i
		}
		all.takes += s.takes
		all.makes += s.makes
		strokes++
		i += n
	}
	if all.takes == 0 && all.makes == 0 {
		return all, strokes, len(rs)
	}
	return all, strokes, -1
}

// strokeAt is what the stroke that rs begins with does, and how many words say it: none where it is not understood.
func strokeAt(rs []raw) (stitch, int) {
	key := func(i int) string {
		if i < len(rs) {
			return rs[i].key
		}
		return ""
	}
	number := func(i int) (int64, bool) {
		if i < len(rs) && rs[i].kind == rawNum && rs[i].val != nil && rs[i].val.IsInt() && rs[i].val.Num().IsInt64() {
			n := rs[i].val.Num().Int64()
			return n, n > 0 && n < 10_000
		}
		return 0, false
	}
	word, n := key(0), 1
	if key(1) == "&" && key(2) == "b" {
		word, n = word+"&b", 3 // `k1f&b`
	}
	if s, known := strokes[word]; known {
		times := int64(1)
		if k, is := number(n); is && (word == "inc" || word == "widen" || word == "narrow") {
			times = k
			n++
		}
		if into := key(n); (into == "in" || into == "into") && s.makes > s.takes && s.takes > 0 && times == 1 {
			n++ // `inc in next st`: the next words are those of a single stitch
			for key(n) == "the" || key(n) == "next" {
				n++
			}
			if key(n) != "st" && key(n) != "stitch" {
				return stitch{}, 0
			}
			n++
		}
		return stitch{s.takes * times, s.makes * times}, n
	}
	switch word {
	case "k", "p", "knit", "purl", "sl", "slip":
		if k, is := number(1); is {
			n = 2
			for key(n) == "sts" || key(n) == "st" || key(n) == "stitches" {
				n++
			}
			return plainOrTogether(k, key(n), n)
		}
	case "make", "m":
		if k, is := number(1); is {
			return stitch{0, k}, 2
		}
	}
	// `k10`, `p3`, `sl1`
	letters := strings.TrimRight(word, "0123456789")
	if k, err := strconv.ParseInt(word[len(letters):], 10, 32); err == nil && k > 0 && k < 10_000 && (letters == "k" || letters == "p" || letters == "sl") {
		return plainOrTogether(k, key(n), n)
	}
	return stitch{}, 0
}

// plainOrTogether is k stitches each worked by itself, or into one where the word after the n words says `together`.
func plainOrTogether(k int64, after string, n int) (stitch, int) {
	if after == "tog" || after == "together" {
		return stitch{k, 1}, n + 1
	}
	return stitch{k, k}, n
}
