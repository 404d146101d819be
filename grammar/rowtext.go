package grammar

import "strings"

// RowText is what the text of one row does, as far as it says so.
type RowText struct {
	Takes, Makes int64 // stitches worked and stitches there afterwards, outside of stretches worked plain
	Stretch      bool  // part of the row is worked plain as far as something: `knit to last 3 sts`
	Open         bool  // a stretch that changes the count is repeated as often as it goes: only the count in hand says how often
	Varies       bool  // what it takes up is not the same in every size
}

// Row reads the text of one row, `k1, k2tog, knit to last 3 sts, ssk, k1`; ok is false where any of it is not understood.
func (pl *Plain) Row(words []Token) (row RowText, ok bool) {
	rs := make([]raw, 0, len(words))
	for _, w := range words {
		if w.Kind > SignToken {
			return row, false
		}
		rs = append(rs, w.raw)
	}
	r := &rowReader{rs: rs}
	return r.row()
}

type rowReader struct {
	rs []raw
	i  int
	RowText
	depth int
}

// rowPassing are words in a row's text that change nothing, longest first.
var rowPassing = phrasesOf(`place marker, slip marker, remove marker, sl marker, place a marker, slip the marker, sl m, in patt, in pattern, in rib, in rib as set, as set,
	as established, through back loop, tbl, wyif, wyib, pm, sm, bm, em, rm, turn, and, then, next, the, of row, of round, of rnd, for back, for front, for sleeve, for left sleeve,
	for right sleeve, with yarn in front, with yarn in back, sts, st, stitches, stitch, across, knitwise, purlwise, work, patt`)

func phrasesOf(list string) [][]string {
	var out [][]string
	for _, p := range strings.Split(list, ",") {
		w := strings.Fields(p)
		at := len(out)
		for at > 0 && len(out[at-1]) < len(w) {
			at--
		}
		out = append(out[:at], append([][]string{w}, out[at:]...)...)
	}
	return out
}

func (r *rowReader) key(i int) string {
	if i < len(r.rs) {
		return r.rs[i].key
	}
	return ""
}

// word passes over a word where it stands next.
func (r *rowReader) word(words ...string) bool {
	for _, w := range words {
		if r.key(r.i) == w && r.i < len(r.rs) {
			r.i++
			return true
		}
	}
	return false
}

func (r *rowReader) number() (int64, bool) {
	if r.i >= len(r.rs) || r.rs[r.i].kind != rawNum {
		return 0, false
	}
	n := &r.rs[r.i]
	if n.val == nil || !n.val.IsInt() || !n.val.Num().IsInt64() || n.val.Sign() < 0 {
		return 0, false
	}
	r.i++
	return n.val.Num().Int64(), true
}

// list passes over the numbers of the further sizes, `(26, 28, 30)`.
func (r *rowReader) list() bool {
	if r.key(r.i) != "(" && r.key(r.i) != "[" || r.i+2 >= len(r.rs) || r.rs[r.i+1].kind != rawNum {
		return false
	}
	for j := r.i + 2; j < len(r.rs); j++ {
		switch k := r.rs[j].key; {
		case k == ")" || k == "]":
			r.i = j + 1
			r.Varies = true
			return true
		case r.rs[j].kind != rawNum && !strings.Contains(",:;/-", k):
			return false
		}
	}
	return false
}

func (r *rowReader) row() (RowText, bool) {
	all, ok := r.items("")
	r.Takes, r.Makes = all.takes, all.makes
	return r.RowText, ok && r.i >= len(r.rs)
}

// items reads strokes and stretches as far as a closing sign, or to the end.
func (r *rowReader) items(close string) (all stitch, ok bool) {
	if r.depth++; r.depth > 4 {
		return all, false
	}
	defer func() { r.depth-- }()
	for r.i < len(r.rs) {
		k := r.key(r.i)
		switch {
		case close != "" && (k == close || close == "*" && (k == ";" || k == "rep" || k == "repeat")):
			return all, true
		case r.rs[r.i].kind == rawPunct && strings.Contains(",;.-—:", k):
			r.i++
			continue
		case k == "(" || k == "[" || k == "*":
			s, ok := r.repeated(map[string]string{"(": ")", "[": "]", "*": "*"}[k])
			if !ok {
				return all, false
			}
			all.takes += s.takes
			all.makes += s.makes
			continue
		case r.plain():
			continue
		}
		if n, ok := r.inPattern(); ok {
			all.takes += n
			all.makes += n
			continue
		}
		if s, ok := r.ends(); ok {
			all.takes += s.takes
			all.makes += s.makes
			continue
		}
		if s, n := strokeAt(r.rs[r.i:]); n > 0 {
			r.i += n
			all.takes += s.takes
			all.makes += s.makes
			if r.key(r.i-1) != "" && r.list() && s.takes != s.makes {
				return all, false
			}
			continue
		}
		if !r.passing() {
			return all, false
		}
	}
	return all, close == ""
}

func (r *rowReader) passing() bool {
next:
	for _, p := range rowPassing {
		for j, w := range p {
			if r.key(r.i+j) != w {
				continue next
			}
		}
		r.i += len(p)
		return true
	}
	return false
}

// ends reads stitches that are bound off or cast on in the row.
func (r *rowReader) ends() (stitch, bool) {
	from, k := r.i, r.key(r.i)
	on := k == "co"
	switch {
	case (k == "cast" || k == "bind") && (r.key(r.i+1) == "off" || r.key(r.i+1) == "on"):
		on = r.key(r.i+1) == "on"
		r.i += 2
	case k == "bo" || k == "co":
		r.i++
	default:
		return stitch{}, false
	}
	n, ok := r.number()
	if !ok || r.list() {
		r.i = from
		return stitch{}, false
	}
	if on {
		return stitch{0, n}, true
	}
	return stitch{n, 0}, true
}

// plain reads a stretch worked as far as something: `knit to last 3 sts`, `work in patt to 2 sts before marker`, `purl to end`, and
// a row that is nothing else: `knit`, `purl all sts`.
func (r *rowReader) plain() bool {
	from := r.i
	if !r.word("k", "p", "knit", "purl", "work", "rib", "patt", "pattern", "continue", "cont") {
		return false
	}
	for r.word("even", "straight", "in", "patt", "pattern", "rib", "as", "set", "established", "st", "garter", "stockinette", "stocking", "stitch") {
	}
	switch {
	case r.word("to", "until"):
		if r.target() {
			r.Stretch = true
			return true
		}
	case r.word("across", "around", "round", "back", "rem", "remaining"):
		for r.word("all", "sts", "stitches", "the", "row", "round") {
		}
		r.Stretch = true
		return true
	case r.word("all"):
		if r.word("sts", "stitches") {
			r.Stretch = true
			return true
		}
	case r.i >= len(r.rs) || r.key(r.i) == "." && r.i+1 >= len(r.rs):
		r.Stretch = true
		return true
	}
	r.i = from
	return false
}

// inPattern reads a number of stitches worked as they come: `rib 4`, `work 20 sts in patt`.
func (r *rowReader) inPattern() (int64, bool) {
	from := r.i
	if r.word("rib", "patt", "pattern", "work") {
		if n, ok := r.number(); ok {
			r.list()
			return n, true
		}
	}
	r.i = from
	return 0, false
}

// target reads where a plain stretch ends.
func (r *rowReader) target() bool {
	r.word("the")
	r.word("within")
	switch {
	case r.word("end"):
	case r.word("last"):
		r.number()
		r.list()
		return r.word("sts", "st", "stitches", "stitch", "marker", "m")
	case r.word("next", "first", "second", "beg", "bor", "marker", "m", "mkr"):
		r.word("marker", "m", "mkr")
		return true
	default:
		if _, ok := r.number(); !ok {
			return false
		}
		r.list()
		r.word("sts", "st", "stitches", "stitch")
		r.word("remain", "rem")
		if !r.word("before", "of", "from") {
			return r.key(r.i-1) == "remain" || r.key(r.i-1) == "rem"
		}
		for r.word("the", "next", "first", "second", "last", "each", "side", "center", "centre") {
		}
		if !r.word("marker", "m", "end", "mkr", "bor", "st", "stitch") {
			return false
		}
	}
	for r.word("of", "the", "row", "round", "rnd", "needle") {
	}
	return true
}

// repeated reads a stretch that is repeated: `(k8, k2tog) 10 times`, `*k2, p2; rep from * to last 2 sts`.
func (r *rowReader) repeated(close string) (stitch, bool) {
	r.i++
	inner := *r
	s, ok := r.items(close)
	if !ok {
		return stitch{}, false
	}
	plain := r.Stretch && !inner.Stretch
	r.word(close)
	for r.word(";", ",", ".", "-") {
	}
	said := r.word("rep", "repeat", "repeating")
	if said {
		r.word("from")
		r.word("*")
	}
	r.word("a")
	r.word("further", "another")
	times, counted := r.number()
	switch {
	case counted:
		if r.list() {
			if s.takes != s.makes {
				return stitch{}, false
			}
		}
		more := r.word("more", "further", "additional")
		if !r.word("times", "time", "x") && !r.rs[r.i-1].times && r.rs[r.i-1].key != "once" {
			return stitch{}, false
		}
		more = r.word("more") || more
		if said && !more && s.takes != s.makes {
			return stitch{}, false // `rep from * 9 times`: in all, or more?
		}
		if more {
			times++
		}
		if plain && s.takes != s.makes || !plain {
			s = stitch{s.takes * times, s.makes * times}
		}
		return s, times < 1000
	case r.word("around", "across", "round"):
		for r.word("the", "row", "round", "rnd") {
		}
	case r.word("to", "until"):
		if !r.target() {
			return stitch{}, false
		}
	case close == ")" && !said:
		return stitch{}, false // a remark
	case !said:
		return stitch{}, false
	}
	r.Open = r.Open || s.takes != s.makes
	if s.takes == s.makes {
		s = stitch{}
	}
	r.Stretch = true
	return s, true
}
