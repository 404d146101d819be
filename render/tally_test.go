package render

import (
	"regexp"
	"strings"
	"testing"
)

func TestStepLabel(t *testing.T) {
	for _, k := range []struct {
		text, word  string
		whole, some bool
		want        string
	}{
		{"cast on 98 sts", "Cast on", false, false, "Cast on"},
		{"Dec 1 st at each end of every row 6 times", "Decrease", false, false, "Dec"},
		{"to 14½ in", "Work", false, false, "Work"},
		{"for 7 rounds in rib", "Work", false, false, "Work"},
		{"repeat the neck row every alternate row a further 16 times", "Repeat", false, false, "Repeat the neck row"},
		{"work to match underarm of back", "Work", false, false, "Work to match underarm"},
		{"sizes XL and 2X only: work 1 round in rib", "Work", false, true, "Work"},
		{"join body, left sleeve and right sleeve: 300 sts", "Join", true, false, "Join body, left sleeve and right sleeve"},
		{"Work right side as left side", "Work", true, false, "Work right side as left side"},
		{"— 20 rows", "Work", false, false, "Work"},
		{"increase or decrease evenly to 204 sts", "Decrease", false, false, "Increase or decrease evenly"},
		{"", "Work", false, false, "Work"},
		{"rep these 2 rows 5 times", "Repeat", false, false, "Rep"},
		{"bind off the remaining 38 (38, 40) sts", "Bind off", false, false, "Bind off the remaining sts"},
		{"draw it through the remaining 8 sts", "Bind off", false, false, "Draw it through the remaining sts"},
		{"cast off the centre 14 sts, leaving 26 sts each side", "Bind off", false, false, "Cast off the centre sts"},
		{"space 7 buttonholes over 108 rows", "Space", false, false, "Space buttonholes"},
	} {
		if got := stepLabel(k.text, k.word, k.whole, k.some); got != k.want {
			t.Errorf("%q: %q, not %q", k.text, got, k.want)
		}
	}
}

func TestSteps(t *testing.T) {
	src := []byte("```draft\nfabric main: 20 sts and 28 rows to 10 cm\n```\n\n## Back\n\n{Cast on 60 sts}. {Work 1 row}. {60 sts}.\n\n" +
		"{Bind off the centre 20 sts, leaving 20 sts each side}; {hold 20 sts as left}. {Bind off all sts}. {Resume left}: {bind off all sts}.\n\n" +
		"## Cap\n\n| a | b |\n| --- | --- |\n| {cast on 40 sts} | {knit 8 rounds} |\n\n{Bind off all sts}.\n")
	p := page(t, converted(t, "x.md", src, nil), Options{})
	mustContain(t, p,
		"<div class=\"step\"><div>\n<p>Cast on 60 sts. Work 1 row. 60 sts.</p>\n</div>\n<ol class=\"tally\">\n"+
			"<li><label><input type=\"checkbox\"> <span>Cast on</span> <span class=\"f\">then 60 sts</span></label></li>\n"+
			"<li><label><input type=\"checkbox\"> <span>Work</span> <span class=\"f\">1 row</span> <span class=\"f\">then 60 sts</span></label></li>\n</ol>\n</div>",
		"<span>Bind off the centre sts</span> <span class=\"f\">1 row</span> <span class=\"f\">then 20 sts each side</span>",
		"<span>Hold</span> <span class=\"f\">then 20 sts</span>", "<span>Resume left</span>", "<span class=\"f\">none left</span>",
		"</table></div>\n</div>\n<ol class=\"tally\">\n", "<span class=\"f\">8 rounds</span>")
	wellFormed(t, "steps", p)
	src = small("## Front\n\n{Cast on 60 sts}. {Work 8 rows}; {meanwhile decrease 1 st at the neck edge every 4th row 2 times}. {Bind off all sts}.\n")
	mustContain(t, page(t, converted(t, "x.md", src, nil), Options{}),
		"<span>Work</span> <span class=\"f\">8 rows</span></label>", "<span>Meanwhile decrease</span> <span class=\"f\">then 58 sts</span>")
}

// A piece that is worked as another has the steps of that one, left and right exchanged, to tick off by themselves.
func TestStepsOfATwin(t *testing.T) {
	src := small("## Left front\n\n{Cast on 30 sts}. {Work 20 rows}. {Bind off 5 sts at the beginning of the next row}. {Work 9 rows}; {hold 25 sts as left shoulder}.\n\n" +
		"## Right front\n\n{Work right front as left front}.\n\n## Shoulders\n\n{Resume left shoulder}. {Bind off all sts}. {Resume right shoulder}. {Bind off all sts}.\n")
	p := string(page(t, converted(t, "x.md", src, nil), Options{}))
	_, second, _ := strings.Cut(p, `<li class="head">Work right front as left front</li>`)
	second, _, _ = strings.Cut(second, "</ol>")
	tags := regexp.MustCompile(`<[^>]*>`)
	got := strings.Join(strings.Fields(tags.ReplaceAllString(strings.ReplaceAll(second, "</li>", ";"), " ")), " ")
	if want := "Cast on then 30 sts ; Work 20 rows then 30 sts ; Bind off 1 row then 25 sts ; Work 9 rows then 25 sts ; Hold ;"; got != want {
		t.Errorf("%s\nnot\n%s", got, want)
	}
}
