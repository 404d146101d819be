package rewrite_test

import (
	"math/big"
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/rewrite"
)

// A slope that is decreased on every row already has too few rows at a gauge with higher ones: the widths above and below it
// give way, and the knitter has to know.
func TestWidthsThatMissAreTold(t *testing.T) {
	d := draftOf(t, "# Collar\n\n```draft\nfabric main: 20 sts and 40 rows to 10 cm\n```\n\n"+
		"{Cast on 60 sts}. {Work 10 rows}. {Decrease 1 st at each end of every row 20 times | as slope}.\n"+
		"{Work to 5.5 cm from slope}. {Work 4 rows}. {Bind off all sts}.\n")
	for _, x := range []struct {
		name     string
		sts, row int64 // to 10 cm
		told     string
	}{
		{"rows too high", 24, 24, "“Cast on 60 sts” comes out far from its size. 60 sts measure 25 cm where 30 cm are wished for."},
		{"rows in keeping", 24, 48, ""},
	} {
		c, diags := rewrite.Convert(d, rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: dsl.Gauge{Stitches: big.NewRat(x.sts, 10), Rows: big.NewRat(x.row, 10)}}}})
		if c == nil {
			t.Fatal(diags)
		}
		said := strings.Join(c.Warnings, "\n")
		if x.told != "" && !strings.Contains(said, x.told) || x.told == "" && strings.Contains(said, "far from its size") {
			t.Errorf("%s: the warnings are\n%s", x.name, said)
		}
	}
}

// A motif keeps its stitches: a border beside it stays, if only by a stitch at each side, and that it has become narrow is told.
func TestMotifLeavesLittle(t *testing.T) {
	text := plainly("18 sts and 36 rows to 10 cm", "side = 90 cm\n", "{Cast on 162 sts | side}. {Work 16 rows}. {Panel of 146 sts after 8 sts}. {Work 200 rows}. {End panel}. {Work 16 rows}. {Bind off all sts}.")
	c := converted(t, "a border", text, "16 sts and 30 rows to 10 cm")
	mustSay(t, c, "{Cast on 148 sts | side}. {Work 14 rows}. {Panel of 146 sts after 1 st}")
	if told := strings.Join(c.Warnings, "\n"); !strings.Contains(told, "is a motif and keeps its stitches, so 2 sts are left beside it where the draft has 16.") {
		t.Errorf("the warnings are\n%s", told)
	}
	if c = converted(t, "a border", text, "19 sts and 36 rows to 10 cm"); strings.Contains(strings.Join(c.Warnings, "\n"), "motif") {
		t.Errorf("the warnings are\n%s", strings.Join(c.Warnings, "\n"))
	}
}

// One number that is said twice, with a tie and without, is missed only where it misses its tie.
func TestTieSpeaksForBoth(t *testing.T) {
	text := plainly("18 sts and 26 rows to 10 cm", "neck = 20 cm\n", "{Cast on 112 sts}. {Hold 37 sts as right}. {Hold 37 sts as left}. {38 sts}. {Hold 38 sts as back | neck}. {Join right, left and back: 112 sts}. {Bind off all sts}.")
	c := converted(t, "a neck", text, "12 sts and 20 rows to 10 cm")
	if told := strings.Join(c.Warnings, "\n"); strings.Contains(told, "far from its size") {
		t.Errorf("the warnings are\n%s", told)
	}
}

// A multiple is asked of all stitches cast on, over however many needles they are told.
func TestMultipleOverNeedles(t *testing.T) {
	text := plainly("20 sts and 28 rounds to 10 cm", "", "{Cast on 21 sts on each of 4 needles | multiple of 12}. {84 sts}. {Work 20 rounds}. {Bind off all sts}.")
	sound(t, "84 in twelves", text)
	wantsFaults(t, "84 in fives", mended(t, text, "multiple of 12", "multiple of 5"), "21", 1, "84", "5")
	mustSay(t, converted(t, "84 in twelves", text, "18 sts and 25 rounds to 10 cm"), "{Cast on 18 sts on each of 4 needles | multiple of 12}. {72 sts}")
}
