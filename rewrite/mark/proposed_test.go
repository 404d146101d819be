package mark

import (
	"strings"
	"testing"
)

// proposals are plain texts with what must be put beside their braces, and what must not.
var proposals = []struct {
	name, text string
	want, not  []string
}{
	{"a row that says what it did, and is repeated by its name",
		"Cast on 92 (96) sts and join in the round. Work 6 rounds.\n\nInc round: *K1, m1, knit to 1 st before marker, m1, k1; rep from * 3 more times — 8 sts increased.\nRepeat the inc round every 2nd round 23 (25) more times — 284 (304) sts.",
		[]string{"{8 sts increased | as inc round}", "{Repeat the inc round every 2nd round 23 (25) more times} — {284 (304) sts}"}, []string{"taken up here"}},
	{"rows of which one is shaped",
		"Cast on 7 sts. Knit 6 rows.\n\nRow 1 (RS): K3, yo, knit to marker, yo, k1, yo, knit to last 3 sts, yo, k3 — 4 sts increased.\nRow 2: K3, purl to last 3 sts, k3.\nRepeat Rows 1 and 2 until there are 247 sts.",
		[]string{"{4 sts increased | in 2 rows}", "{Repeat Rows 1 and 2 until there are 247 sts}."}, []string{"taken up here"}},
	{"in brackets, with an apostrophe",
		"Cast on 60 sts. Work 8 rnds.\n\nRnd 1: K1, ssk, knit to last 3 sts, k2tog, k1 (4 sts dec'd).\nRnd 2: Knit.\nRepeat these 2 rnds until 24 sts rem.",
		[]string{"({4 sts dec'd | in 2 rows})", "{Repeat these 2 rnds until 24 sts rem}"}, []string{"taken up here"}},
}

func TestProposed(t *testing.T) {
	for _, x := range proposals {
		m, _ := Mark("p.md", []byte(x.text+"\n"))
		for _, w := range x.want {
			if !strings.Contains(string(m.New), w) {
				t.Errorf("%s: %s is not there:\n%s", x.name, w, m.New)
			}
		}
		for _, w := range x.not {
			if strings.Contains(string(m.New), w) {
				t.Errorf("%s: %s is there:\n%s", x.name, w, m.New)
			}
		}
		sound(t, []byte(x.text+"\n"))
	}
}
