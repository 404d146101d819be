package rewrite

import (
	"fmt"
	"math/big"
	"regexp"
	"slices"
	"strings"
)

// Words by which it is known what a draft is of; each may stand in the plural or own something.
var (
	ofChildren = []string{"baby", "babies", "infant", "newborn", "toddler", "child", "children", "kid"}
	onThem     = []string{"cord", "i-cord", "tie", "drawstring", "ribbon", "loop", "pompom", "pom-pom", "tassel", "bead"}
	fastenings = []string{"button", "buttonhole", "toggle", "popper", "press stud", "snap"}
	twoColours = []string{"float", "stranded", "fair isle", "colourwork", "colorwork"}
	ofFingers  = []string{"glove", "mitten", "mitt", "sock", "stocking", "bootee", "bootie"}
)

// childSize is a size that is called after a child's age.
var childSize = regexp.MustCompile(`(?i)^(newborn|baby|toddler|child|(\d+\s*(-|–|/|to)\s*)?(\d|1[0-2])\s*(m|mo|mths?|months?|y|yrs?|years?)\b)`)

// cautions are where the work can hurt someone. Common practice, no source.
func (c *converter) cautions() {
	low := lowered(c.d.File.Src)
	has := func(words []string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return containsWord(low, w) })
	}
	child := has(ofChildren) || slices.ContainsFunc(c.d.Sizes, childSize.MatchString)
	care := func(text string) { c.c.Cautions = append(c.c.Cautions, text) }
	if child && has(onThem) {
		care("For infants and small children: cords, ties, loops and pompoms can strangle or choke. Leave them off, or follow the safety rules for children's clothing where you live; ask a professional where in doubt.")
	}
	if child && has(fastenings) {
		care("For infants and small children: a button or anything else that fastens a garment can come off and choke. Sew each on firmly with strong thread and pull at it to try, or use hidden fastenings, and follow the safety rules for children's clothing where you live; ask a professional where in doubt.")
	}
	if (child || has(ofFingers)) && has(twoColours) {
		care("Long floats inside small garments, gloves and socks catch fingers and toes: keep them short or line them. For infants and children, follow the safety rules for children's clothing where you live.")
	}
	gauges := c.c.Gauges
	for _, s := range c.c.Seconds {
		gauges = append(slices.Clone(gauges), s.Gauges...)
	}
	said := map[string]bool{}
	for _, g := range gauges {
		was := new(big.Rat).Mul(g.From.Stitches, big.NewRat(115, 100))
		if g.To.Stitches.Cmp(was) > 0 && !g.Assumed && !said[g.Fabric] {
			said[g.Fabric] = true
			care(fmt.Sprintf("The gauge of %s is much tighter than drafted. Knitting tightly for long can hurt hands and wrists: rest often, try larger needles or a finer yarn, and ask a professional about pain that stays.", g.Fabric))
		}
	}
}

// lowered is a text with its letters from A to Z in lower case.
func lowered(text []byte) string {
	out := slices.Clone(text)
	for i, b := range out {
		if b >= 'A' && b <= 'Z' {
			out[i] = b + 'a' - 'A'
		}
	}
	return string(out)
}

// containsWord says whether a text in small letters has a word, as it is, in the plural or with an s that owns something.
func containsWord(s, w string) bool {
	for at := 0; ; {
		i := strings.Index(s[at:], w)
		if i < 0 {
			return false
		}
		i += at
		end := s[i+len(w):]
		for _, more := range []string{"'s", "’s", "s'", "s’", "es", "s", ""} {
			if rest, ok := strings.CutPrefix(end, more); ok && (i == 0 || !letter(s[i-1])) && (rest == "" || !letter(rest[0])) {
				return true
			}
		}
		at = i + len(w)
	}
}

func letter(b byte) bool { return b >= 'a' && b <= 'z' }
