package rewrite_test

import (
	"math/big"
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/rewrite"
)

// vest is 50 cm wide and 35 cm to the underarm: 100 sts and, at 2.8 rows to a centimetre, 98 rows.
const vest = "```draft\nfabric main: 20 sts and 28 rows to 10 cm\nwidth = 50 cm\nside = 35 cm\ndepth = 20 cm\ntop = 40 cm\n```\n" +
	"## Back\n{Cast on 100 sts | width, even, as back}. {Work to 35 cm | side, as straight}.\n" +
	"{Bind off 5 sts at the beginning of the next 2 rows | as underarm}. {Decrease 1 st at each end of every 2nd row 5 times}: {80 sts | top}.\n" +
	"{Work to 55 cm | side + depth}. {Bind off all sts}.\n"

const front = "## Front\n{Cast on 100 sts | width, even}. {Work to 35 cm | side}. {Bind off 5 sts at the beginning of the next 2 rows | underarm, as front underarm}. " +
	"{Decrease 1 st at each end of every 2nd row 5 times}: {80 sts | top}. {Work to 55 cm | side + depth}. {Bind off all sts}.\n"

func gauged(sts, rows int64) []rewrite.AskedGauge {
	return []rewrite.AskedGauge{{Gauge: dsl.Gauge{Stitches: big.NewRat(sts, 10), Rows: big.NewRat(rows, 10)}}}
}

func regauged(t testing.TB, src string, r rewrite.Request) *rewrite.Conversion {
	t.Helper()
	c, diags := rewrite.Convert(draftOf(t, src), r)
	if c == nil {
		t.Fatal(diags)
	}
	return c
}

func taken(t testing.TB, list []rewrite.Taken, piece, name string) rewrite.Taken {
	t.Helper()
	for _, x := range list {
		if x.Name == name && x.Piece == piece {
			return x
		}
	}
	t.Fatalf("nothing is said of %s, %s: %v", piece, name, list)
	return rewrite.Taken{}
}

// 24 rows to 10 cm: the 98 rows up to the underarm are 98 / 2.4 = 40.83 cm, for the 35 cm that 84 rows would be. 14 rows have to
// be undone, not all 98. The whole is 5.83 cm higher than its 55 cm, until then.
func TestHalfWayTooLong(t *testing.T) {
	c := regauged(t, strings.Replace(vest, "{Work to 55 cm | side + depth}", "{Work to 20 cm from underarm | depth}", 1), rewrite.Request{Gauges: gauged(20, 24), Knitted: "underarm"})
	r := c.HalfWay.Sizes[0]
	is(t, "the side", taken(t, r.Done, "Back", "side").Gets, "40.83")
	is(t, "what the back misses", taken(t, r.Done, "Back", "width").Miss(), "0.00")
	is(t, "the side's miss", taken(t, r.Misses, "Back", "side").Miss(), "5.83")
	is(t, "the height", taken(t, r.Misses, "Back", "height of Back").Gets, "60.83")
	if len(r.Misses) != 2 || len(r.Back) != 1 {
		t.Fatalf("missed: %v; back to: %v", r.Misses, r.Back)
	}
	b := r.Back[0]
	if text := c.Draft.File.Text(c.Draft.File.Marks[b.Mark].PhraseSpan); text != "Work to 35 cm" || b.Undo != 14 || b.More != 0 || len(b.Left) != 0 {
		t.Errorf("back to %q, %d rows undone, %d more, left %v", text, b.Undo, b.More, b.Left)
	}
	is(t, "the side from there", taken(t, b.Mends, "Back", "side").Gets, "35.00")
	is(t, "the height from there", taken(t, b.Mends, "Back", "height of Back").Gets, "55.00")
	if len(c.HalfWay.MadeUp) != 0 {
		t.Errorf("a length from the underarm makes nothing up: %v", c.HalfWay.MadeUp)
	}
}

// Measured from the cast-on, the last length makes up for it: 55 cm are 132 rows, of which 98 are there.
func TestHalfWayMadeUp(t *testing.T) {
	c := regauged(t, vest, rewrite.Request{Gauges: gauged(20, 24), Knitted: "underarm"})
	r := c.HalfWay.Sizes[0]
	if len(r.Misses) != 1 || r.Misses[0].Name != "side" {
		t.Fatalf("only the side is missed, not %v", r.Misses)
	}
	rows := int64(0)
	for _, m := range c.Marks {
		rows += m.Rows[0]
	}
	if rows != 132 {
		t.Errorf("%d rows in all, not 132", rows)
	}
}

// 32 rows to 10 cm: 98 rows are 30.63 cm; 35 cm are 112 rows. Nothing has to be undone, 14 rows are missing.
func TestHalfWayTooShort(t *testing.T) {
	b := regauged(t, vest, rewrite.Request{Gauges: gauged(20, 32), Knitted: "underarm"}).HalfWay.Sizes[0].Back
	if len(b) != 1 || b[0].Undo != 0 || b[0].More != 14 {
		t.Fatalf("%+v", b)
	}
}

// 18 sts to 10 cm: 100 sts are 55.56 cm, and only a new cast-on of 90 sts is 50 cm: all 98 rows are lost. The top can still be
// reached, 72 sts for 40 cm, if the 28 sts that are too many go at the armholes, where 18 would go if it were begun afresh.
func TestHalfWayTooWide(t *testing.T) {
	c := regauged(t, vest, rewrite.Request{Gauges: gauged(18, 28), Knitted: "underarm"})
	r := c.HalfWay.Sizes[0]
	if len(r.Misses) != 1 {
		t.Fatalf("missed: %v", r.Misses)
	}
	is(t, "the width's miss", taken(t, r.Misses, "Back", "width").Miss(), "5.56")
	if len(r.Back) != 1 || !r.Back[0].Begin || r.Back[0].Undo != 98 {
		t.Fatalf("%+v", r.Back)
	}
	is(t, "the width from there", taken(t, r.Back[0].Mends, "Back", "width").Gets, "50.00")
	if n := len(c.HalfWay.MadeUp); n != 1 || !strings.Contains(string(c.New), "{72 sts | top}") {
		t.Errorf("%d instructions make up for it: %v\n%s", n, c.HalfWay.MadeUp, c.New)
	}
	armhole := func(c *rewrite.Conversion) (sts int64) {
		for i := range c.Marks {
			if i > 0 {
				sts += max(0, c.Marks[i-1].After[0]-c.Marks[i].After[0])
			}
		}
		return sts - 72
	}
	if n := armhole(c); n != 28 {
		t.Errorf("%d sts go at the armholes, not 28", n)
	}
	if n := armhole(regauged(t, vest, rewrite.Request{Gauges: gauged(18, 28)})); n != 18 {
		t.Errorf("afresh, %d sts go at the armholes, not 18", n)
	}
}

// A place to go back to serves when the work is converted as knitted up to there, and the next later one does not: so it is
// found again by asking for each place by its name.
func TestHalfWayAskedForByName(t *testing.T) {
	src := strings.Replace(vest, "{Work to 55 cm | side + depth}", "{Work to 20 cm from underarm | depth}", 1)
	side := func(label string) *big.Rat {
		for _, n := range regauged(t, src, rewrite.Request{Gauges: gauged(20, 24), Knitted: label}).Numbers {
			if n.Name == "straight" {
				return n.Measures[0]
			}
		}
		return nil
	}
	is(t, "the side, knitted up to the underarm", side("underarm"), "40.83")
	is(t, "the side, ripped back to its beginning", side("straight"), "35.00")
}

// The tension changed on the way: what is knitted keeps its 28 rows to 10 cm, 35 cm, and of the 55 cm the other 20 are 48 rows at
// 24 to 10 cm. At one gauge throughout they would be 34 rows.
func TestTensionChanged(t *testing.T) {
	rest := func(r rewrite.Request) (rows int64) {
		r.Gauges, r.Knitted = gauged(18, 24), "underarm"
		for _, m := range regauged(t, vest, r).Marks[2:] {
			rows += m.Rows[0]
		}
		return rows
	}
	if n := rest(rewrite.Request{KnittedAsDrafted: true}); n != 48 {
		t.Errorf("%d rows are left, not 48", n)
	}
	if n := rest(rewrite.Request{KnittedAt: gauged(20, 28)}); n != 48 {
		t.Errorf("told by its gauge, %d rows are left, not 48", n)
	}
	if n := rest(rewrite.Request{}); n != 34 {
		t.Errorf("at one gauge, %d rows are left, not 34", n)
	}
	c := regauged(t, vest, rewrite.Request{Gauges: gauged(18, 24), Knitted: "underarm", KnittedAsDrafted: true})
	r := c.HalfWay.Sizes[0]
	is(t, "the side", taken(t, r.Done, "Back", "side").Gets, "35.00")
	is(t, "the width", taken(t, r.Done, "Back", "width").Gets, "50.00")
	if len(r.Misses) != 0 {
		t.Errorf("everything can be reached, but missed are %v", r.Misses)
	}
	if n := len(c.Gauges); n != 2 || c.Gauges[1].Fabric != "main, knitted already" || !c.Gauges[1].To.Same(c.Gauges[0].From) {
		t.Errorf("the gauges are %+v", c.Gauges)
	}
	if !strings.Contains(string(c.New), "{Work to 35 cm | side, as straight}") {
		t.Errorf("what is knitted still measures what it says:\n%s", c.New)
	}
}

// Knitted at 26 rows to 10 cm, 98 rows are 37.69 cm; ripping back to 35 cm leaves 91 of them, or, ending on the same side, 90
// (34.62 cm) or 92 (35.38): halves of a step go upwards, 35 − 34.62 is the larger by a hair.
func TestTensionChangedAndTooLong(t *testing.T) {
	src := strings.Replace(vest, "{Work to 55 cm | side + depth}", "{Work to 20 cm from underarm | depth}", 1)
	b := regauged(t, src, rewrite.Request{Gauges: gauged(20, 24), Knitted: "underarm", KnittedAt: gauged(20, 26)}).HalfWay.Sizes[0].Back
	if len(b) != 1 || b[0].Undo != 6 {
		t.Fatalf("%+v", b)
	}
	is(t, "the side from there", taken(t, b[0].Mends, "Back", "side").Gets, "35.38")
}

// A front still to come is sewn to the back that is knitted: it has to be as long, with the same rows.
func TestFrontFollowsBack(t *testing.T) {
	c := regauged(t, vest+front, rewrite.Request{Gauges: gauged(20, 24), Knitted: "front underarm"})
	if c.HalfWay == nil {
		t.Fatal("nothing is told")
	}
	c = regauged(t, vest+front, rewrite.Request{Gauges: gauged(20, 24), Knitted: "underarm"})
	if n := strings.Count(string(c.New), "{Work to 40.8 cm | side"); n != 2 {
		t.Errorf("back and front do not both read 40.8 cm:\n%s", c.New)
	}
	rows := 0
	for _, m := range c.Marks {
		if m.Rows[0] == 98 {
			rows++
		}
	}
	if rows != 2 {
		t.Errorf("98 rows are worked %d times, not twice", rows)
	}
	if !strings.Contains(strings.Join(c.Warnings, "\n"), "follows what Back measures") {
		t.Errorf("nobody is told: %q", c.Warnings)
	}
	// Afresh it is 35 cm.
	if c = regauged(t, vest+front, rewrite.Request{Gauges: gauged(20, 24)}); !strings.Contains(string(c.New), "{Work to 35 cm | side}") {
		t.Errorf("%s", c.New)
	}
}

// A front that matches a back knitted at another gauge is as high as the back, in rows of its own; and neither its stitches nor those of
// its armhole are the back's, whatever its ties say, because as many would be another width.
func TestFrontMatchesBackOfAnotherGauge(t *testing.T) {
	const src = "```draft\nfabric main: 20 sts and 28 rows to 10 cm\nback width = 50 cm\ncross back = 38 cm\n```\n## Back\n{Cast on 100 sts | back width, as back}. {Work 98 rows}. " +
		"{Bind off 6 sts at the beginning of the next 2 rows | as underarm}. {Decrease 1 st at each end of every RS row 6 times}: {76 sts | cross back}. {Work 40 rows}. {Bind off all sts}.\n" +
		"## Front\n{Cast on 100 sts | back}. {Work 14 rows}. {Work to match underarm of back}. " +
		"{Bind off 6 sts at the beginning of the next 2 rows | underarm, as notch}. {Decrease 1 st at each end of every RS row 6 times}: {76 sts | cross back}. {Work 40 rows}. {Bind off all sts}.\n"
	fresh := regauged(t, src, rewrite.Request{Gauges: gauged(16, 24)})
	c := regauged(t, src, rewrite.Request{Gauges: gauged(16, 24), Knitted: "underarm", KnittedAsDrafted: true})
	_, was := fresh.Worked(0)
	run, v := c.Worked(0)
	front := func(s string) string { return s[strings.Index(s, "## Front"):] }
	if a, b := front(string(fresh.New)), front(string(c.New)); a != b {
		t.Errorf("the front is\n%s\nand begun afresh\n%s", b, a)
	}
	for _, s := range run.Stages {
		if text := src[c.Draft.File.Marks[s.Mark].Span.Start:]; strings.HasPrefix(text, "{Work to match") {
			// 98 rows of 28 to 10 cm are 35 cm, which are 84 of 24; 12 are worked.
			if n := s.Rows.At(v); n != 72 {
				t.Errorf("%d rows are worked to match, not 72; afresh %d", n, s.Rows.At(was))
			}
		}
	}
	if told := strings.Join(c.Warnings, "\n"); !strings.Contains(told, "worked to the same height, in 84 rows from the cast-on where Back has 98") {
		t.Errorf("nobody is told: %s", told)
	}
	for _, s := range c.HalfWay.Sizes {
		for _, m := range s.Misses {
			if m.Piece == "Front" {
				t.Errorf("the front is said to miss %s", m.Name)
			}
		}
	}
}

// Where nothing can follow what is knitted, the way out says how far to rip back.
func TestNothingFollows(t *testing.T) {
	src := "```draft\nfabric main: 20 sts and 28 rows to 10 cm\nlength = 20 cm\n```\n## Scarf\n{Cast on 40 sts}. {Work 42 rows}. {Work to 20 cm | length, as end}. {Bind off all sts}.\n"
	_, diags := rewrite.Convert(draftOf(t, src), rewrite.Request{Gauges: gauged(20, 14), Knitted: "end"})
	if len(diags) == 0 || !strings.HasPrefix(diags[0].WayOut, "nothing can follow what is knitted: rip back to Scarf, “Work 42 rows” in line 6") {
		t.Fatal(diags)
	}
}
