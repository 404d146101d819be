package rewrite_test

import (
	"fmt"
	"regexp"
	"strconv"
	"testing"
)

// A crown as it is written, every round of it a repeat. Our own; that 72 sts in repeats of 8, 7, 6 … come out at 9 is common
// practice, no source.
const crown = `{Cast on 68 (76, 84) sts}. {Join in the round}. {Work 8 rounds}. {Increase 4 sts evenly}. {72 (80, 88) sts | head}. {Work 24 rounds}.

Rnd 1: {*K6, k2tog; rep from * around}. {63 (70, 77) sts}.
Rnd 2: {\*K5, k2tog; rep from \* to end of rnd}. {54 (60, 66) sts}.
Rnd 3: {(k4, k2tog) around}. {45 (50, 55) sts}.
Rnd 4: {[k3, ssk] to end}. {36 (40, 44) sts}.
Rnd 5: {*k2, k2tog* around}. {27 (30, 33) sts}.
Rnd 6: {*K1, k2tog tbl; rep from * around}. {18 (20, 22) sts}.
Rnd 7: {K2tog around}. {9 (10, 11) sts}.
{Draw the yarn through the remaining 9 (10, 11) sts}.`

var countsOf = regexp.MustCompile(`\{(\d+) \((\d+), (\d+)\) sts`)

// TestCrownDivides holds that, at any gauge, each round's count is a whole number of its repeats, and that the repeats keep their words.
func TestCrownDivides(t *testing.T) {
	text := plainly("18 sts and 24 rounds to 10 cm", "sizes: a (b, c)\nhead = 40 (44.5, 49) cm\n", crown)
	words := regexp.MustCompile(`Rnd \d: \{[^}]*\}`)
	changed := 0
	for sts := 11; sts <= 31; sts += 2 {
		c := converted(t, fmt.Sprint("a crown at ", sts), text, fmt.Sprintf("%d sts and %d rounds to 10 cm", sts, sts+7))
		got := string(c.New)
		if was, now := fmt.Sprint(words.FindAllString(text, -1)), fmt.Sprint(words.FindAllString(got, -1)); was != now {
			t.Errorf("at %d sts the rounds' words are\n%s\nnot\n%s", sts, now, was)
		}
		counts := countsOf.FindAllStringSubmatch(got, -1)
		if len(counts) != 8 {
			t.Fatalf("at %d sts %d counts are left of 8:\n%s", sts, len(counts), got)
		}
		for size := 1; size <= 3; size++ {
			for round, takes := 0, 8; takes >= 2; round, takes = round+1, takes-1 {
				before, _ := strconv.Atoi(counts[round][size])
				after, _ := strconv.Atoi(counts[round+1][size])
				if before%takes != 0 || after != before/takes*(takes-1) {
					t.Errorf("at %d sts round %d goes from %d to %d sts in repeats of %d", sts, round+1, before, after, takes)
				}
			}
		}
		if counts[0][1] != "72" {
			changed++
		}
	}
	if changed < 9 {
		t.Errorf("only %d of 11 gauges change the count", changed)
	}
}

// TestRepeatsMustDivide holds the fault of a repeat that does not come out, with both sides of the sum.
func TestRepeatsMustDivide(t *testing.T) {
	text := plainly("18 sts and 24 rounds to 10 cm", "", "{Cast on 72 sts}. {*K6, k2tog; rep from * around}. {Bind off all sts}.")
	sound(t, "72 in repeats of 8", text)
	wantsFaults(t, "74 in repeats of 8", mended(t, text, "72", "74"), "*K6, k2tog; rep from * around", 1, "74", "8")
	wantsFaults(t, "72 in repeats of 7", mended(t, text, "K6", "K5"), "*K5, k2tog; rep from * around", 1, "72", "7")
}
