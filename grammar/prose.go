package grammar

import (
	"math/big"
	"strings"
)

// readProse looks through the prose for numbers that no brace holds, and for what it says of right and wrong sides.
func (p *fileParser) readProse() {
	for i := 0; i < len(p.prose); {
		j := i + 1
		for j < len(p.prose) && p.prose[j].paragraph == p.prose[i].paragraph {
			j++
		}
		p.paragraph(p.prose[i:j])
		i = j
	}
	p.sortNotes()
}

func (p *fileParser) paragraph(pieces []prosePiece) {
	rowText := false
	first := true
	spans := make([]Span, 0, len(pieces))
	for i := 0; i < len(pieces); {
		spans = spans[:0]
		j := i
		for ; j < len(pieces) && (j == i || !pieces[j].breaks); j++ {
			spans = append(spans, pieces[j].span)
		}
		if !worthReading(p.text, spans) {
			i = j
			first = false
			continue
		}
		rs := p.glance(spans, false)
		if first {
			rowText = beginsRow(rs)
		}
		first = false
		p.wrongSide(rs)
		if !pieces[i].heading {
			p.loose(rs, rowText)
		}
		i = j
	}
}

// worthReading says whether there is a digit, or a wrong side, in the text at all.
func worthReading(src string, spans []Span) bool {
	for _, s := range spans {
		for i := s.Start; i < s.End; i++ {
			b := src[i]
			if isDigit(b) || b == 'W' || b == 'w' || b >= 0xc2 && b <= 0xe2 {
				return true
			}
		}
	}
	return false
}

// rowLabels are words whose number is a name, not a count.
var rowLabels = map[string]bool{"row": true, "rows": true, "round": true, "rounds": true, "rnd": true, "rnds": true, "chart": true, "charts": true, "step": true, "steps": true,
	"figure": true, "fig": true, "figures": true, "page": true, "pages": true, "p.": true, "version": true, "edition": true, "size": true, "sizes": true, "no": true, "number": true, "us": true, "uk": true,
	"section": true, "part": true, "photo": true, "diagram": true, "table": true, "note": true, "marker": true, "ply": true, "lot": true, "colour": true, "color": true, "shade": true, "chapter": true, "line": true, "ridge": true}

// beginsRow says whether a paragraph is the text of a pattern row: `Row 5: k3, knit 12, …`.
func beginsRow(rs []raw) bool {
	for i := 0; i < len(rs) && i < 8; i++ {
		switch rs[i].key {
		case "row", "round", "rnd", "rows", "rounds", "rnds":
			for j := i + 1; j < len(rs) && j < i+12; j++ {
				if rs[j].key == ":" {
					return j > i+1 && rs[i+1].kind == rawNum
				}
			}
		}
	}
	return false
}

// loose lists the numbers of a stretch of prose that look like counts or lengths.
func (p *fileParser) loose(rs []raw, rowText bool) {
	if n, _ := matchName(p.names.sizes, rs, 0); n > 0 && n == len(rs) {
		return // a size's name by itself, as in the head of a table
	}
	key := func(i int) string {
		if i < 0 || i >= len(rs) {
			return ""
		}
		return rs[i].key
	}
	mayBeRow := true
	label := -2 // the last number that belonged to a label (`Rows 3-6, 8 and 10`)
	listed := 0 // where the last list of sizes ended
	for i := range rs {
		r := &rs[i]
		switch {
		case r.key == ".":
			rowText, mayBeRow = false, true
		case mayBeRow && rowLabels[r.key]:
			rowText = rowText || beginsRow(rs[i:min(i+16, len(rs))])
			mayBeRow = false
		}
		end := sizesEnd(rs, i)
		if n := stitchWord(r); n > 0 && end > i+1 && isDigit(p.text[r.span.Start+n]) { // `k5 (6, 7)`: one a size is no stitch pattern
			listed = end
			p.looseAt(rs, Span{r.span.Start + n, 0}, end)
			continue
		}
		if r.kind != rawNum || r.spelled || i < listed {
			continue
		}
		list := end > i+1
		listed = end
		prev, next := key(i-1), key(end)
		// `Rows 3 to 6`, `Chart 2`, `No. 8`
		if rowLabels[prev] || prev == "." && rowLabels[key(i-2)] || prev == "#" || label == i-2 && (prev == "-" || prev == "to" || prev == "and" || prev == "," || prev == "&") {
			if rowLabels[prev] || prev == "." || prev == "#" || !countWord(next) {
				label = i
				continue
			}
		}
		if r.ordinal && !list && !unitWords[next].IsRows() {
			continue
		}
		if r.ordinal && !list && (key(i+2) == ":" || key(i+2) == "(") && prev != "every" && prev != "following" && prev != "foll" {
			continue // `3rd row:` is a label
		}
		// `(4th, 6th)` follows its first
		if r.val == nil {
			continue
		}
		if skipUnits[next] || next == "%" || next == "°" {
			continue // needles, per cents, degrees
		}
		if next == "-" && !rs[i+1].blank && i+2 < len(rs) && !rs[i+2].blank && rs[i+2].kind == rawWord && unitWords[rs[i+2].key] == NoUnit {
			continue // `4-ply`
		}
		if next == "*" || (prev == "*" && i >= 2 && rs[i-2].kind == rawNum) || strings.HasPrefix(next, "x") && len(next) > 1 && isDigit(next[1]) || next == "x" || prev == "x" {
			continue // `2 x 2 rib`
		}
		if inRepeats(rs, i) {
			continue
		}
		switch prev {
		case "k", "p", "sl", "k.", "p.":
			if !list { // one a size is no stitch pattern
				continue
			}
		case "last", "first", "next", "yo", "psso", "m", "needle", "needles", "hook", "$", "£", "€", "©":
			continue
		case "knit", "purl", "slip", "work":
			// `knit 2, purl 2` is a stitch pattern; `knit 27` and `knit 6 rows` are counts
			if !list && (rowText || prev != "work" && !countWord(next) && next != "more" && r.val.Cmp(ten) < 0) {
				continue
			}
		case "-":
			// a range's second number follows its first; a needle's letter code does not count
			if i >= 2 && !r.blank && rs[i-2].kind == rawWord {
				continue
			}
		}
		if rowText && !list && !unitWords[next].IsLength() && next != "sts" && next != "stitches" {
			continue
		}
		switch next {
		case "marker", "markers", "needle", "needles", "dpns", "dpn", "times", "time", "ply", "hook", "double", "circular", "am", "pm", "kg", "hours", "minutes", "days", "years", "people", "tog", "together":
			if next != "times" && next != "time" || i > 0 && (prev == ")" || prev == "*") {
				continue
			}
		}
		if needleAhead(rs, i) {
			continue
		}
		if r.val.IsInt() && !countWord(next) {
			if n := r.val.Num().Int64(); n >= 1800 && n <= 2100 && len(r.key) == 4 {
				continue // a year
			}
		}
		p.looseAt(rs, Span{r.span.Start, 0}, end)
	}
}

// looseAt keeps a number or a list that ends before the word at end, which tells what it counts.
func (p *fileParser) looseAt(rs []raw, span Span, end int) {
	span.End = rs[end-1].span.End
	text, unit := p.text[span.Start:span.End], NoUnit
	if end < len(rs) && rs[end].kind == rawWord {
		text += " " + p.text[rs[end].span.Start:rs[end].span.End]
		if unit = unitWords[rs[end].key]; rs[end].key == "times" || rs[end].key == "time" {
			unit = Repeats
		}
	}
	if span.Start > 0 && p.text[span.Start-1] >= 'A' && p.text[span.Start-1] <= 'z' {
		unit = Stitches // `k5 (6, 7)`
	}
	p.f.Loose = append(p.f.Loose, Loose{Span: span, Text: fold(text), Unit: unit})
}

// stitchWord is how many letters stand before the number in `k5`, `p5` and `sl5`; 0 for other words.
func stitchWord(r *raw) int {
	word := strings.TrimRight(r.key, "0123456789")
	if r.kind != rawWord || word == r.key || word != "k" && word != "p" && word != "sl" {
		return 0
	}
	return len(word)
}

// sizesEnd is where a list of sizes that begins with the number at i ends, `56 (64, 72)`; i + 1 where none begins.
func sizesEnd(rs []raw, i int) int {
	shut := map[string]string{"(": ")", "[": "]"}
	for end := i + 1; ; {
		if end >= len(rs) || shut[rs[end].key] == "" {
			return end
		}
		j, want := end+1, rs[end].key
		for j < len(rs) && (rs[j].kind == rawNum && !rs[j].spelled || j > end+1 && rs[j].kind == rawPunct && strings.Contains(",;:/-", rs[j].key)) {
			j++
		}
		if j >= len(rs) || rs[j].key != shut[want] || j == end+1 {
			return end
		}
		end = j + 1
	}
}

// inRepeats says whether a number is one of a stitch pattern's: `a multiple of 10 + 1`, `repeats of 10 stitches plus 1`.
func inRepeats(rs []raw, i int) bool {
	key := func(i int) string {
		if i < 0 {
			return ""
		}
		return rs[i].key
	}
	if k := key(i - 1); k == "+" || k == "plus" {
		for i -= 2; i > 0 && rs[i].kind != rawNum; i-- {
			if unitWords[rs[i].key] != Stitches {
				return false
			}
		}
	}
	if key(i-1) != "of" {
		return false
	}
	switch key(i - 2) {
	case "multiple", "multiples", "repeat", "repeats":
		return true
	}
	return false
}

var ten = big.NewRat(10, 1)

func countWord(key string) bool {
	u := unitWords[key]
	return u == Stitches || u.IsRows() || u.IsLength() && key != "in" || key == "(" || key == "times"
}

var skipUnits = map[string]bool{"mm": true, "mms": true, "millimetre": true, "millimetres": true, "percent": true, "ply": true}

// needleAhead says whether the number is a needle's: `4.5 (5) mm`, `US 7 needles`, `size 7 circular needle`.
func needleAhead(rs []raw, i int) bool {
	depth := 0
	for j := i + 1; j < len(rs) && j <= i+9; j++ {
		switch rs[j].key {
		case "(", "[":
			depth++
		case ")", "]":
			depth--
		case ",":
			if depth <= 0 {
				return false
			}
		case "mm", "needle", "needles", "dpns", "hook":
			for k := i + 1; k < j; k++ {
				if countWord(rs[k].key) {
					return false
				}
			}
			return true
		case ".", ";", ":":
			return false
		}
	}
	return false
}

// wrongSide notes where the prose says that the next row, or row 1, is a wrong-side row.
func (p *fileParser) wrongSide(rs []raw) {
	for i := range rs {
		var n int
		switch k := rs[i].key; {
		case rs[i].kind == rawWord && (k == "next" || k == "first") && i+1 < len(rs) && unitWords[rs[i+1].key].IsRows():
			n = 2
		case (k == "row" || k == "round" || k == "rnd") && i+1 < len(rs) && rs[i+1].kind == rawNum && rs[i+1].key == "1":
			n = 2
		case k == "1st" && i+1 < len(rs) && unitWords[rs[i+1].key].IsRows():
			n = 2
		case (k == "beginning" || k == "starting" || k == "begin" || k == "start") && i+1 < len(rs) && rs[i+1].key == "with":
			n = 2
		default:
			continue
		}
		for j := i + n; j < len(rs) && j < i+n+4; j++ {
			switch rs[j].key {
			case "is", "a", "an", "the", "(", ",", "will", "be", "should", "-", "—", "=":
				continue
			case "ws":
				p.f.WrongSide = append(p.f.WrongSide, Span{rs[i].span.Start, rs[j].span.End})
			case "wrong":
				k := j + 1
				if k < len(rs) && rs[k].key == "-" {
					k++
				}
				if k < len(rs) && rs[k].key == "side" {
					p.f.WrongSide = append(p.f.WrongSide, Span{rs[i].span.Start, rs[k].span.End})
				}
			}
			break
		}
	}
}
