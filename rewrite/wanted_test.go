package rewrite_test

import (
	"math/big"
	"strings"
	"testing"

	"gaugewright/rewrite"
)

func gotOf(t testing.TB, list []rewrite.Got, name string) rewrite.Got {
	t.Helper()
	for _, g := range list {
		if g.Name == name {
			return g
		}
	}
	t.Fatalf("nothing is said of %s in %v", name, list)
	return rewrite.Got{}
}

// What rows of a band come to, over which buttonholes are spaced, is no length of the fronts that have the same measure: those are
// worked to it with a tape. 112 rows at 32 to 4 in are 14 in; at 36 to 4 in they are 12.44 in, 31.6 cm.
func TestButtonholesAreNoLength(t *testing.T) {
	x := decide(t, shippedDraft(t, "reading-room.md"), "fabric main\nwashed: 40 sts over 8 in; 63 rows over 8 in", rewrite.Request{Sizes: []string{"32"}})
	for _, w := range x.Choices[0].Ways {
		if w.Kind != rewrite.AsWritten {
			continue
		}
		if g := gotOf(t, w.Gets, "side length"); !g.Near() {
			t.Errorf("the sides are worked to a length, and come to %s", g.Gets.FloatString(2))
		}
		is(t, "the rows of the band", gotOf(t, w.Gets, "side length, in rows (Bands)").Gets, "31.61")
	}
}

// A draft that is meant to be wider than its measurement: 108 sts are 54 cm, where 50 cm are asked for.
const meantWider = "```draft\nfabric main: 20 sts and 28 rows to 10 cm\nchest = 90 cm\nwidth = chest / 2 + 5 cm\n```\n\n" +
	"## Back\n\n{Cast on 108 sts | width}. {Work to 40 cm}. {Bind off all sts}.\n"

// What is wanted is what the measurement says, in every account, and what the draft means by leaving it is not missed.
func TestWantedIsOneThing(t *testing.T) {
	for _, sts := range []int64{20, 18} {
		gauge := gauged(sts, 28)
		c := regauged(t, meantWider, rewrite.Request{Gauges: gauge})
		card := "fabric main\nunwashed: 20 sts over 10 cm\nwashed: " + big.NewRat(sts, 1).RatString() + " sts over 10 cm; 28 rows over 10 cm"
		published := gotOf(t, c.Gives(0), "width")
		decided := decide(t, meantWider, card, rewrite.Request{}).Choices[0]
		again := got(t, decided.Ways[len(decided.Ways)-1], "width")
		var reviewed *rewrite.Total
		r := c.Review()
		for i := range r.Totals {
			if r.Totals[i].Name == "width" {
				reviewed = &r.Totals[i]
			}
		}
		if reviewed == nil {
			t.Fatal("the changes do not speak of the width")
		}
		for what, wanted := range map[string]*big.Rat{"published": published.Wanted, "decided": again.Wanted, "in the changes": reviewed.NewWanted[0]} {
			is(t, what, wanted, "50.00")
		}
		want := "54.00" // at 18 sts 97.2 are asked for
		if sts == 18 {
			want = "53.89"
		}
		for what, gets := range map[string]*big.Rat{"published": published.Gets, "decided": again.Gets, "in the changes": reviewed.New[0]} {
			is(t, what, gets, want)
		}
		if !published.Near() || !again.Near() {
			t.Errorf("at %d sts what is meant is missed: %+v", sts, published)
		}
	}
}

// A back that is another width than was wanted, and fronts that are not: what they all go round is the sum of them. 98 sts knitted at 18 to
// 10 cm are 54.44 cm; at 20 to 10 cm a front of 49 cm is 98 sts. Together they are 103.44 cm, which is a chest of 93.44.
func TestChestGoesAllRound(t *testing.T) {
	src := "```draft\nfabric main: 18 sts and 28 rows to 10 cm\nchest = 88 cm\nround = chest + 10 cm\n```\n\n" +
		"## Back\n\n{Cast on 98 sts | 98 sts in main}. {98 sts | round / 2}. {Work to 40 cm}. {Bind off all sts}.\n\n" +
		"## Front\n\n{Cast on 88 sts | round / 2, as front}. {Work to 40 cm}. {Bind off all sts}.\n"
	c := regauged(t, src, rewrite.Request{Gauges: gauged(20, 28), Knitted: "front", KnittedAsDrafted: true})
	is(t, "the chest", gotOf(t, c.Gives(0), "chest").Gets, "93.44")
	is(t, "the chest wanted", gotOf(t, c.Gives(0), "chest").Wanted, "88.00")
	// Two fronts of half the width, one of them worked as the other: 24.5 cm are 49 sts, twice.
	src = strings.Replace(src, "{Cast on 88 sts | round / 2, as front}", "{Cast on 44 sts | round / 4, as front}", 1) + "\n## Right front\n\n{Work right front as front}.\n"
	c = regauged(t, src, rewrite.Request{Gauges: gauged(20, 28), Knitted: "front", KnittedAsDrafted: true})
	is(t, "the chest of a cardigan", gotOf(t, c.Gives(0), "chest").Gets, "93.44")
}

// What is wanted of a height that no measurement gives is what was drafted, in the changes as beside what is knitted already.
func TestWantedHeightIsOneThing(t *testing.T) {
	long := strings.Replace(vest, "{Work to 55 cm | side + depth}", "{Work to 20 cm from underarm | depth}", 1)
	c := regauged(t, long, rewrite.Request{Gauges: gauged(20, 25), Knitted: "underarm"})
	for _, x := range c.Review().Totals {
		if x.Name == "Back, height" {
			is(t, "the height wanted", taken(t, c.HalfWay.Sizes[0].Misses, "Back", "height of Back").Wanted, x.NewWanted[0].FloatString(2))
			return
		}
	}
	t.Error("the changes do not speak of the height")
}
