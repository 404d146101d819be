package rewrite_test

import (
	"fmt"
	"math/big"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gaugewright/rewrite"
)

// A waistcoat and a raglan in pieces, in which nothing ties what is sewn together: the words of the pieces differ, and so does what
// each must come to. Our own; that edges which are sewn to each other have the same stitches and rows is common practice, no source.
const (
	waistcoatMeasures = "sizes: S (M, L)\nback width = 49 (54, 59) cm\nfront width = 23 (25.5, 28) cm\ncross back = 35 (38, 39) cm\nneck width = 15 (16, 16) cm\n"
	waistcoat         = `## Back

{Cast on 98 (108, 118) sts | back width, even}. {Work 90 (94, 98) rows}.
{Bind off 6 (7, 9) sts at beg of next 2 rows}. {Dec 1 st at each end of every RS row 8 (9, 11) times}: {70 (76, 78) sts | cross back}. {Work 46 (48, 48) rows}.
{Bind off 7 (8, 8) sts at the beginning of the next 4 (2, 4) rows, then 6 (7, 7) sts at the beginning of the following 2 (4, 2) rows}. {Bind off 30 (32, 32) sts | neck width}.

## Left front

{Cast on 46 (51, 56) sts | front width}. {Work 90 (94, 98) rows}.
{Bind off 6 (7, 9) sts at the armhole edge on the next row}. {Work 1 row}. {Dec 1 st at the armhole edge of every RS row 8 (9, 11) times};
{meanwhile dec 1 st at the neck edge every 4th row 12 (13, 13) times, starting on the next row}. {Work 46 (48, 48) rows}: {20 (22, 23) sts}.
{Bind off 7 (8, 8) sts at the armhole edge on the next row, then 7 (7, 8) sts every 2nd row 1 time}. {Work 1 row}. {Bind off the remaining 6 (7, 7) sts}.
`
	raglanMeasures = "sizes: S (M, L)\nback width = 49 (53, 57) cm\nupper arm = 32 (34, 36.5) cm\n"
	raglanPieces   = `## Back

{Cast on 108 (117, 125) sts | back width}. {Work 108 rows}.
{Bind off 5 (6, 7) sts at the beginning of the next 2 rows}. {Decrease 1 st at each end of every 2nd row 31 (33, 35) times, starting on the next row}; {work 1 row}. {Bind off all sts}.

## Front

{Cast on 108 (117, 125) sts | back width}. {Work 108 rows}.
{Bind off 5 (6, 7) sts at the beginning of the next 2 rows}. {Decrease 1 st at each end of every 2nd row 31 (33, 35) times, starting on the next row}; {work 1 row}: {36 (39, 41) sts | even, rounded down}. {Bind off all sts}.

## Sleeve

{Cast on 70 (74, 79) sts | upper arm}. {Work 130 rows}.
{Bind off 5 (6, 7) sts at the beginning of the next 2 rows}. {Decrease 1 st at each end of every 2nd row 21 (23, 23) times, then every 4th row 5 (5, 6) times, starting on the next row}. {Work 1 row}. {Bind off all sts}.
`
)

var underarms = regexp.MustCompile(`(?i)\{bind off (\d+(?: \([\d, ]+\))?) sts at (?:beg of next 2 rows|the beginning of the next 2 rows|the armhole edge on the next row)\}`)
var armholes = regexp.MustCompile(`\{Dec 1 st at (?:each end|the armhole edge) of (every RS row [^}]*)\}`)

// TestPiecesThatMeetStayEqual holds that what is sewn together has as many stitches on both sides at any gauge.
func TestPiecesThatMeetStayEqual(t *testing.T) {
	raglanPieces := strings.ReplaceAll(raglanPieces, " | even, rounded down", "")
	apart := 0
	for sts := int64(13); sts <= 30; sts++ {
		gauge := fmt.Sprintf("%d sts and %d rows to 10 cm", sts, sts+sts/2-sts%3)
		for name, text := range map[string]string{"waistcoat": plainly("20 sts and 28 rows to 10 cm", waistcoatMeasures, waistcoat), "raglan": plainly("22 sts and 30 rows to 10 cm", raglanMeasures, raglanPieces)} {
			c := converted(t, name, text, gauge)
			got := string(c.New)
			for _, what := range []*regexp.Regexp{underarms, armholes} {
				var said [][]string // the first in each piece
				for _, piece := range strings.Split(got, "## ") {
					if x := what.FindStringSubmatch(piece); x != nil {
						said = append(said, x)
					}
				}
				if name == "waistcoat" && len(said) != 2 || name == "raglan" && what == underarms && len(said) != 3 {
					t.Fatalf("%s at %s: %d places are left in\n%s", name, gauge, len(said), got)
				}
				for _, x := range said {
					if x[1] != said[0][1] {
						t.Errorf("%s at %s: one edge has `%s` and the other `%s`", name, gauge, said[0][1], x[1])
					}
				}
			}
			if rows := rowsAbove(c); rows != "" {
				t.Errorf("%s at %s: %s", name, gauge, rows)
			}
			if told := strings.Join(c.Assumptions, "\n"); !strings.Contains(told, "sewn together") && !c.Unchanged {
				t.Errorf("%s at %s: that the pieces are sewn together is not told:\n%s", name, gauge, told)
			}
			apart++
		}
	}
	if apart < 30 {
		t.Errorf("only %d conversions", apart)
	}
}

// rowsAbove says where the pieces differ in the rows they have above their underarms, "" where they do not.
func rowsAbove(c *rewrite.Conversion) string {
	for target := range c.Targets {
		run, v := c.Worked(target)
		var heights []int64
		var height int64
		in, piece := false, -1
		for _, s := range run.Stages {
			text := c.Draft.File.Text(c.Draft.File.Marks[s.Mark].Span)
			switch {
			case underarms.MatchString(text) && c.Draft.File.Marks[s.Mark].Heading != piece:
				piece = c.Draft.File.Marks[s.Mark].Heading
				in, height = true, s.Rows.At(v)
			case in && strings.HasPrefix(text, "{Bind off"):
				in, heights = false, append(heights, height)
			case in:
				height += s.Rows.At(v)
			}
		}
		if len(heights) < 2 {
			return fmt.Sprint("only these heights were found: ", heights)
		}
		for _, h := range heights {
			if h != heights[0] {
				return fmt.Sprint("the rows above the underarm are ", heights)
			}
		}
	}
	return ""
}

// A designer departs from it by a tie of its own, and what cannot be kept is told with both places.
func TestSeamsGiveWay(t *testing.T) {
	text := plainly("20 sts and 28 rows to 10 cm", waistcoatMeasures+"step = 3 (3.5, 4.5) cm\nnotch = 3 (3.5, 4.5) cm\n", waistcoat)
	own := mended(t, text, "at beg of next 2 rows}", "at beg of next 2 rows | step, rounded up}")
	own = mended(t, own, "at the armhole edge on the next row}. {Work 1 row}. {Dec", "at the armhole edge on the next row | notch, rounded down}. {Work 1 row}. {Dec")
	mustSay(t, converted(t, "own ties", own, "17 sts and 25 rows to 10 cm"), "{Bind off 6 (6, 8) sts at beg of next 2 rows |")
	mustSay(t, converted(t, "own ties", own, "17 sts and 25 rows to 10 cm"), "{Bind off 5 (5, 7) sts at the armhole edge on the next row |")

	text = plainly("20 sts and 28 rows to 10 cm", waistcoatMeasures, waistcoat)
	text = mended(t, text, "at beg of next 2 rows}", "at beg of next 2 rows | as one}")
	text = mended(t, text, "at the armhole edge on the next row}. {Work 1 row}. {Dec", "at the armhole edge on the next row | as other}. {Work 1 row}. {Dec")
	c := regauged(t, text, rewrite.Request{Gauges: gauged(18, 25), Pins: []rewrite.Pin{{Name: "one", Value: []int64{6}}, {Name: "other", Value: []int64{5}}}})
	told := strings.Join(c.Warnings, "\n")
	for _, want := range []string{"Back, “Bind off 6 (7, 9) sts at beg of next 2 rows” and Left front, “Bind off 6 (7, 9) sts at the armhole edge on the next row” were drafted equal in the bind-off at the underarm and come out 6 and 5 in size S"} {
		if !strings.Contains(told, want) {
			t.Errorf("the warnings are\n%s\nnot\n%s", told, want)
		}
	}
	if got := numbersNamed(t, c, "other"); got[0].Cmp(big.NewRat(5, 1)) != 0 {
		t.Errorf("other is %v", got)
	}
}

// Numbers that are equal by accident have nothing to do with one another.
func TestEqualByAccident(t *testing.T) {
	const text = "## Hat\n\n{Cast on 80 sts | multiple of 8}. {Work 30 rows}. {Decrease 8 sts evenly | as hat dec}. {Bind off all sts}.\n\n" +
		"## Pocket\n\n{Cast on 8 sts | as pocket}. {Work 10 rows}. {Bind off all sts}.\n\n## Strap\n\n{Cast on 8 sts | fixed}. {Work 60 rows}. {Bind off all sts}.\n"
	c := converted(t, "a hat and a pocket", plainly("20 sts and 28 rows to 10 cm", "", text), "15 sts and 21 rows to 10 cm")
	isNow(t, c, "pocket", 6)
	if told := strings.Join(c.Assumptions, "\n"); strings.Contains(told, "sewn") {
		t.Errorf("it is told that\n%s", told)
	}
}

// A round that is laid out right after a join speaks of the parts that were joined, each as large as it was. Our own; that 99 sts of a back
// are still 99 on the next round is arithmetic.
func TestLayoutAfterAJoin(t *testing.T) {
	src, err := os.ReadFile("../testdata/drafts/nine-gulls.md")
	if err != nil {
		t.Fatal(err)
	}
	list := `(\d+) \((\d+), (\d+), (\d+)\)`
	halves := regexp.MustCompile(`There remain\s+\{` + list + ` \+ ` + list + ` sts\}`)
	sleeves := regexp.MustCompile(`\{hold ` + list + ` sts as left sleeve`)
	parts := regexp.MustCompile(`which is\s+\{` + list + ` \+ ` + list + ` \+ `)
	for sts := 18; sts <= 27; sts++ {
		got := string(converted(t, "a yoke", string(src), fmt.Sprintf("%d sts and %d rounds to 10 cm", sts, sts+7)).New)
		p, h, s := parts.FindStringSubmatch(got), halves.FindStringSubmatch(got), sleeves.FindStringSubmatch(got)
		if p == nil || h == nil || s == nil {
			t.Fatalf("at %d sts:\n%s", sts, got)
		}
		if !slices.Equal(p[1:5], h[1:5]) || !slices.Equal(h[1:5], h[5:9]) || !slices.Equal(p[5:9], s[1:5]) {
			t.Errorf("at %d sts the round is laid out %v, but %v and %v were joined", sts, p[1:], h[1:], s[1:])
		}
	}
}

// What is equal in most sizes where pieces meet, and not in the rest, is told by check with both places.
func TestSeamsDraftedApart(t *testing.T) {
	text := plainly("20 sts and 28 rows to 10 cm", waistcoatMeasures, waistcoat)
	for _, x := range []struct{ from, to, told string }{
		{"Bind off 6 (7, 9) sts at the armhole edge", "Bind off 6 (7, 8) sts at the armhole edge", "the bind-off at the underarm is the same in two pieces that meet, but not in L: 9 and 8"},
		{"20 (22, 23) sts}.", "20 (23, 23) sts}.", "the shoulder is the same in two pieces that meet, but not in M: 22 and 23"},
		{"Bind off 6 (7, 9) sts at the armhole edge", "Bind off 7 (8, 10) sts at the armhole edge", ""}, // another in every size: it is meant
	} {
		_, diags := checkedText("a waistcoat", mended(t, text, x.from, x.to))
		n := 0
		for _, d := range diags {
			if strings.Contains(d.Summary, "pieces that meet") {
				n++
				if d.Summary != x.told || len(d.Related) != 1 {
					t.Errorf("%s: it is told %q, with %d other places", x.to, d.Summary, len(d.Related))
				}
			}
		}
		if want := min(1, len(x.told)); n != want {
			t.Errorf("%s: %d reports speak of pieces that meet", x.to, n)
		}
	}
}
