package mark

import (
	"strings"

	"gaugewright/grammar"
)

// left lists the numbers that got no braces, each with why. A list of sizes is one number.
func (e *engine) left() []Left {
	var out []Left
	dropped := map[*grammar.Stretch][]*candidate{}
	taken := map[*grammar.Stretch][]*candidate{}
	for i := range e.found {
		c := &e.found[i]
		if c.off {
			dropped[c.stretch] = append(dropped[c.stretch], c)
		} else {
			taken[c.stretch] = append(taken[c.stretch], c)
		}
	}
	within := func(list []*candidate, w int) *candidate {
		for _, c := range list {
			if c.from <= w && w < c.to {
				return c
			}
		}
		return nil
	}
	for i := range e.pl.Prose {
		s := &e.pl.Prose[i]
		f := &finder{pl: e.pl, s: s, w: s.Words}
		for w := 0; w < len(s.Words); w++ {
			t := &s.Words[w]
			if t.Kind != grammar.NumberToken || within(taken[s], w) != nil {
				continue
			}
			end := listEnd(s.Words, w)
			why := f.whyLeft(w, end)
			if c := within(dropped[s], w); c != nil {
				why = c.why
			}
			to := end
			if to < len(s.Words) && s.Words[to].Kind == grammar.WordToken {
				to++
			}
			span := grammar.Span{Start: t.Span.Start, End: s.Words[to-1].Span.End}
			out = append(out, Left{Start: t.Span.Start, End: s.Words[end-1].Span.End, Text: oneLine(e.pl.File.Text(span)), Why: why})
			w = end - 1
		}
	}
	return out
}

// listEnd is where a number with its list of sizes ends.
func listEnd(w []grammar.Token, i int) int {
	end := i + 1
	for end < len(w) && (w[end].Key == "(" || w[end].Key == "[") {
		j := end + 1
		for j < len(w) && (w[j].Kind == grammar.NumberToken || strings.Contains(",:;/-", w[j].Key)) {
			j++
		}
		if j == end+1 || j >= len(w) || w[j].Key != ")" && w[j].Key != "]" {
			break
		}
		end = j + 1
	}
	return end
}

var yarnWords = set(`ball balls skein skeins hank hanks g gr gram grams oz ounce ounces m metre metres meter meters yd yds yard yards ply thread threads pound pounds lb lbs`)
var toolWords = set(`mm needle needles hook hooks pin pins dpn dpns circular circulars double-pointed`)
var patternWords = set(`k p knit purl sl slip yo m plain pearl seam ssk narrow over miss`)

// weighs says whether a number at word i is that of a ball's weight or length: `5 (6, 7) x 50 g balls`.
func (f *finder) weighs(i int) bool {
	return i < len(f.w) && f.w[i].Kind == grammar.NumberToken && yarnWords[f.key(i+1)]
}

// whyLeft says what a number is that is no count.
func (f *finder) whyLeft(i, end int) string {
	before, after := f.key(i-1), f.key(end)
	next := f.key(end + 1)
	u := grammar.UnitOf(after)
	count := u == grammar.Stitches || u.IsRows() || u.IsLength() && after != "in"
	switch {
	case yarnWords[after] && !count && !toolWords[after]:
		return "yarn"
	case toolWords[after] || toolWords[next] && !count || before == "needles" || before == "needle" || before == "us" && !count:
		return "the size of a needle or hook"
	case labels[before] && !(grammar.UnitOf(before).IsRows() && f.interval(i-2)) || before == "." && numbered[f.key(i-2)] || before == "#" || f.w[i].Ordinal || before == "-" && labels[f.key(i-3)]:
		return "the name of a row, a chart, a page or a size"
	case yarnWords[after] || after == "-" && yarnWords[next] || after == "x" && f.weighs(end+1):
		return "yarn"
	case before == "$" || before == "£" || before == "€" || after == "$":
		return "a price"
	case after == "%" || after == "°" || after == "x" || before == "x":
		return "no count"
	case f.w[i].Val != nil && f.w[i].Val.IsInt() && len(f.w[i].Key) == 4 && !f.w[i].Spelled && !count:
		return "a year"
	case patternWords[before] && !u.IsRows() && !u.IsLength(), before == "last" || before == "next" || before == "within" || before == "first", after == "together" || after == "tog":
		return "part of the text of a row"
	case after == "times" || after == "time" || f.w[i].Times:
		return "what is done so often is not an instruction that is understood here"
	case u.IsLength():
		return "a length that nothing here is worked to"
	case count:
		return "no instruction that is understood stands round it"
	case f.w[i].Spelled:
		return "no count"
	}
	return "no unit and no instruction stands with it"
}
