package rewrite

import (
	"bytes"
	"fmt"
	"math/big"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"gaugewright/grammar"
)

// speller writes numbers the way the author wrote theirs.
type speller struct {
	f      *grammar.File
	list   grammar.ListStyle // how the draft lists one value a size
	vulgar bool              // fractions as ½, not 1/2
	sizes  *grammar.SizeList
}

func newSpeller(f *grammar.File, sizes *grammar.SizeList) *speller {
	s := &speller{f: f, sizes: sizes, list: grammar.ListStyle{Gap: " ", Open: "(", Sep: ", ", Close: ")"}}
	if sizes != nil && sizes.Style.Open != "" && sizes.Style.Sep != "" {
		s.list = sizes.Style
	}
	s.vulgar = bytes.ContainsFunc(f.Src, func(r rune) bool { return r >= utf8.RuneSelf && strings.ContainsRune("½¼¾⅛⅜⅝⅞⅓⅔", r) })
	return s
}

var numberWords = [...]string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
	"thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty"}

// number is x in the manner of a number the author wrote.
func (s *speller) number(like grammar.Num, x *big.Rat) string {
	t := like.Text
	if x.IsInt() && x.Num().IsInt64() {
		n := x.Num().Int64()
		if strings.IndexFunc(t, unicode.IsLetter) == 0 {
			if n >= 1 && n < int64(len(numberWords)) {
				w := numberWords[n]
				if r := []rune(t); unicode.IsUpper(r[0]) {
					w = strings.ToUpper(w[:1]) + w[1:]
				}
				return w
			}
			return strconv.FormatInt(n, 10)
		}
		if isOrdinal(t) {
			return ordinal(n)
		}
		return strconv.FormatInt(n, 10)
	}
	if like.Val != nil && (strings.ContainsAny(t, "/½¼¾⅛⅜⅝⅞⅓⅔⁄")) {
		return s.fraction(x, !strings.ContainsAny(t, "/"))
	}
	return decimal(x, 6)
}

// length is a length in the author's manner: decimals in centimetres, fractions in inches.
func (s *speller) length(like grammar.Num, x *big.Rat, u grammar.Unit) string {
	if u == grammar.Inches && !x.IsInt() && !strings.Contains(like.Text, ".") {
		if strings.Contains(like.Text, "/") {
			return s.fraction(x, false)
		}
		return s.fraction(x, s.vulgar)
	}
	return s.number(like, x)
}

// isOrdinal says whether a number was written `8th`.
func isOrdinal(text string) bool { return strings.IndexFunc(text, unicode.IsLetter) > 0 }

func ordinal(n int64) string {
	suffix := "th"
	if n%100 < 11 || n%100 > 13 {
		switch n % 10 {
		case 1:
			suffix = "st"
		case 2:
			suffix = "nd"
		case 3:
			suffix = "rd"
		}
	}
	return fmt.Sprint(n, suffix)
}

var vulgarOf = map[string]string{"1/2": "½", "1/4": "¼", "3/4": "¾", "1/8": "⅛", "3/8": "⅜", "5/8": "⅝", "7/8": "⅞", "1/3": "⅓", "2/3": "⅔"}

func (s *speller) fraction(x *big.Rat, vulgar bool) string {
	neg := x.Sign() < 0
	y := new(big.Rat).Abs(x)
	n := new(big.Int).Quo(y.Num(), y.Denom())
	rest := new(big.Rat).Sub(y, new(big.Rat).SetInt(n))
	out := ""
	if n.Sign() > 0 || rest.Sign() == 0 {
		out = n.String()
	}
	if rest.Sign() > 0 {
		fr := rest.Num().String() + "/" + rest.Denom().String()
		if v, ok := vulgarOf[fr]; ok && vulgar {
			out += v
		} else if rest.Denom().Cmp(big.NewInt(16)) > 0 {
			return decimal(x, 4)
		} else {
			if out != "" {
				out += " "
			}
			out += fr
		}
	}
	if neg {
		out = "−" + out
	}
	return out
}

// values is a whole list, one text a size, in the manner of the value it stands for.
func (s *speller) values(v *grammar.Value, texts []string) string {
	if len(texts) == 1 {
		return texts[0]
	}
	if v == nil || len(v.Nums) == 1 {
		same := true
		for _, t := range texts {
			same = same && t == texts[0]
		}
		if same {
			return texts[0]
		}
	}
	if v != nil && len(v.Nums) == len(texts) && !v.Scattered {
		if out, ok := s.splice(v.NumSpan, numSpans(v), texts); ok {
			return out
		}
	}
	if s.sizes != nil && len(s.sizes.Names) == len(texts) {
		// As the sizes themselves are listed: `S (M, L)[XL]`.
		var at []grammar.Span
		for _, n := range s.sizes.Names {
			at = append(at, n.Span)
		}
		if out, ok := s.splice(s.sizes.Span, at, texts); ok {
			return out
		}
	}
	style := s.list
	if v != nil && v.Style.Open != "" && v.Style.Sep != "" {
		style = v.Style
	}
	return texts[0] + style.Gap + style.Open + strings.Join(texts[1:], style.Sep) + style.Close
}

func numSpans(v *grammar.Value) []grammar.Span {
	var out []grammar.Span
	for _, n := range v.Nums {
		out = append(out, n.Span)
	}
	return out
}

// splice is the text of a span with the parts at some places replaced; what lies between must be on one line.
func (s *speller) splice(all grammar.Span, at []grammar.Span, texts []string) (string, bool) {
	var out strings.Builder
	pos := all.Start
	for i, a := range at {
		if a.Start < pos || a.End > all.End {
			return "", false
		}
		between := s.f.Text(grammar.Span{Start: pos, End: a.Start})
		if strings.ContainsAny(between, "\n\r") {
			return "", false
		}
		out.WriteString(between + texts[i])
		pos = a.End
	}
	out.WriteString(s.f.Text(grammar.Span{Start: pos, End: all.End}))
	return out.String(), true
}

var plurals = [][2]string{{"st", "sts"}, {"stitch", "stitches"}, {"row", "rows"}, {"round", "rounds"}, {"rnd", "rnds"}, {"time", "times"}, {"ridge", "ridges"}, {"ball", "balls"}}

// unitFor is the unit's word for so many: `1 st`, `2 sts`. It is "" where the word need not change.
func unitFor(word string, one bool) string {
	for _, p := range plurals {
		if one && word == p[1] {
			return p[0]
		}
		if !one && word == p[0] {
			return p[1]
		}
	}
	return ""
}
