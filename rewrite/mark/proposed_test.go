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
	{"a rib named behind the count",
		"Sizes: S (M, L)\n\nCast on 98 (106, 114) sts. Work 16 rows in k2, p2 rib. Bind off all sts.",
		[]string{"{Cast on 98 (106, 114) sts | multiple of 4 + 2}"}, nil},
	{"a rib in the round has nothing over",
		"Sizes: S (M)\n\nCast on 88 (96) sts and join in the round. Work in 2x2 rib for 4 cm. Bind off all sts.\n\n## Other\n\nCast on 90 (98) sts and join in the round. Work in 2x2 rib for 4 cm. Bind off all sts.",
		[]string{"{Cast on 88 (96) sts | multiple of 4}", "{Cast on 90 (98) sts} and"}, nil},
	{"sizes that do not agree", "Sizes: S (M, L)\n\nCast on 46 (48, 50) sts. Work 16 rows in k2, p2 rib. Bind off all sts.", []string{"{Cast on 46 (48, 50) sts}."}, []string{"multiple"}},
	{"a repeat with stitches before and behind it",
		"Cast on 83 sts. Row 1: k1, *k2, p2; rep from * to last 2 sts, k2. Work 20 rows. Bind off all sts.\n\n## B\n\nCast on 81 sts. Row 1: *k1, p1; rep from * to last st, k1. Work 20 rows. Bind off all sts.",
		[]string{"{Cast on 83 sts | multiple of 4 + 3}", "{Cast on 81 sts | odd}"}, nil},
	{"a multiple said before and behind the count",
		"(multiple of 4 + 2), CO 82 sts. Work 10 rows. Bind off all sts.\n\n## B\n\nCast on 83 sts (a multiple of 5 sts plus 3). Work 4 rows. Bind off all sts.\n\n## C\n\nFor an even number of sts, cast on 60 sts. Work 4 rows. Bind off all sts.",
		[]string{"(multiple of 4 + 2), {CO 82 sts | multiple of 4 + 2}", "{Cast on 83 sts | multiple of 5 + 3} (a multiple of 5 sts plus 3)", "{cast on 60 sts | even}"}, []string{"taken up here", "of {"}},
	{"a front that is worked as the back until its neck",
		"## Back\n\nCast on 90 sts. Work even until piece measures 38 cm. BO 5 sts at beg of next 2 rows — 80 sts. Work even until armhole measures 20 cm. BO all sts.\n\n## Front\n\nWork as for back until armhole measures 12 cm. BO center 20 sts. Working both sides at the same time, dec 1 st at neck edge every RS row 5 times — 25 sts rem each side. Work 10 rows. BO 9 sts at each armhole edge 2 times, then BO rem 7 sts.",
		[]string{"{Work even until armhole measures 20 cm | as armhole, from the bind-off}", "{Work as for back | to armhole} {until armhole measures 12 cm | from the bind-off}", "{BO rem 7 sts}"}, []string{"taken up here"}},
	{"worked as another to a place",
		"## Back\n\nCast on 90 sts. Work even until piece measures 38 cm.\n\n**Armholes.** BO 5 sts at beg of next 2 rows — 80 sts. Work 40 rows. BO all sts.\n\n## Front\n\nWork as for back to armholes. BO 7 sts at beg of next 2 rows — 76 sts. Work 40 rows. BO all sts.",
		[]string{"{BO 5 sts at beg of next 2 rows | as armholes}", "{Work as for back to armholes}", "{76 sts}"}, []string{"taken up here"}},
	{"a sock and a mitten as wide as what they are for",
		"Sizes: S (M, L)\nFoot circumference: 7 (8, 9) inches\nHand circumference: 15 (18, 21) cm\n\nGauge: 32 sts and 44 rnds = 4 inches.\n\nCast on 56 (64, 72) sts. Divide over three needles and join in the round. Work in k2, p2 rib for 4 cm. Bind off all sts.",
		[]string{"{Cast on 56 (64, 72) sts | foot circumference, multiple of 4}"}, nil},
	{"two measurements that a count comes to", "Finished hip: 90 cm\nFinished hem: 91 cm\n\nGauge: 20 sts and 28 rows = 10 cm\n\nCast on 181 sts. Work 10 rows. Bind off all sts.", []string{"{Cast on 181 sts}."}, []string{"| finished hip}.", "| finished hem}."}},
	{"within half a repeat of the rib",
		"Sizes: S (M, L, XL)\nFinished bust: 36 (40, 44, 48) in.\n\nGauge: 18 sts and 24 rows = 4 in.\n\nCO 82 (90, 98, 106) sts. Work in k2, p2 rib for 2 in. Bind off all sts.",
		[]string{"{CO 82 (90, 98, 106) sts | finished bust / 2, multiple of 4 + 2}"}, nil},
	{"half a sock set aside, and back to the leg after the gusset",
		"Sizes: S (M)\n\n## Leg\n\nCast on 56 (64) sts and join in the round. Work 40 rounds. Place 28 (32) sts on a holder for the instep.\n\nTurn the heel — 16 (18) sts rem.\n\n## Gusset\n\nAll 72 (82) sts are worked again: 72 (82) sts. Dec 2 sts every 2nd rnd until 56 (64) sts rem. Bind off all sts.",
		[]string{"{Cast on 56 (64) sts | as leg sts}", "on a holder for the instep | leg sts / 2", "until 56 (64) sts rem | leg sts}"}, nil},
	{"armholes are named, each by its piece",
		"## Back\n\nCast on 90 sts. Work 60 rows.\n\n### Shape armholes\n\nBO 5 sts at beg of next 2 rows — 80 sts. Work 40 rows. BO all sts.\n\n## Front\n\nCast on 92 sts. Work 60 rows.\n\n### Shape armholes\n\nBO 6 sts at beg of next 2 rows — 80 sts. Work 40 rows. BO all sts.",
		[]string{"{BO 5 sts at beg of next 2 rows | as underarm}", "{BO 6 sts at beg of next 2 rows | as front underarm}"}, nil},
	{"two underarms alike",
		"Cast on 200 sts and join in the round. Work 20 rounds. Place the next 60 sts on waste yarn for the sleeve, cast on 10 sts for the underarm, knit 40 sts, place the next 60 sts on waste yarn, cast on 10 sts for the other underarm — 100 sts. Bind off all sts.",
		[]string{"for the underarm | as cast-on sts}", "for the other underarm | cast-on sts}"}, nil},
	{"no multiple for moss and garter stitch", "Cast on 82 sts. Work 10 rows in moss stitch, then 4 rows in garter stitch. Bind off all sts.", []string{"{Cast on 82 sts}."}, nil},
	{"the count after an increase row",
		"Cast on 75 sts. Work k3, p3 rib for 10 rows. Dec 7 sts evenly — 68 sts. Work 20 rows in lace pattern (multiple of 6 plus 2). Bind off all sts.",
		[]string{"{Cast on 75 sts | multiple of 6 + 3}", "{68 sts | multiple of 6 + 2}"}, nil},
	{"a neckband", "Pick up and knit 84 sts evenly around the neck. Join and work in k2, p2 rib for 3 cm. Bind off all sts.", []string{"| multiple of 4}"}, nil},
	{"not beyond shaping that is not marked", "Cast on 80 sts. Knit 4 rows. Inc in every 8th st across. Work in k2, p2 rib. Bind off all sts.", []string{"{Cast on 80 sts}."}, nil},
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
