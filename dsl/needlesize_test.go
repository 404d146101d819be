package dsl_test

import (
	"math/big"
	"testing"

	"gaugewright/dsl"
)

// Published needle sizes, as trade charts print them: US 7 and old UK 7 are both 4.5 mm; a size with no equivalent says none, and
// never its neighbour.
func TestNeedleSizes(t *testing.T) {
	for said, want := range map[string]string{
		"US 7":                "4.5 mm, US 7, old UK 7",
		"old UK 7":            "4.5 mm, US 7, old UK 7",
		"4.5 mm":              "4.5 mm, US 7, old UK 7",
		"4.50mm":              "4.5 mm, US 7, old UK 7",
		"size 7 US":           "4.5 mm, US 7, old UK 7",
		"UK no. 7":            "4.5 mm, US 7, old UK 7",
		"US 4":                "3.5 mm, US 4, no old UK size",
		"3 mm":                "3 mm, no US size, old UK 11",
		"7 mm":                "7 mm, no US size, old UK 2",
		"old UK 2":            "7 mm, no US size, old UK 2",
		"US 10 1/2":           "6.5 mm, US 10½, old UK 3",
		"US 10½":              "6.5 mm, US 10½, old UK 3",
		"UK 000":              "10 mm, US 15, old UK 000",
		"10 mm":               "10 mm, US 15, old UK 000",
		"7":                   "", // in whose numbers?
		"4.4 mm":              "",
		"UK 15":               "",
		"4.5 mm circular":     "",
		"US 7 and old UK 7":   "",
		"":                    "",
		"mm":                  "",
		"two strands, 4.5 mm": "",
	} {
		n, ok := dsl.NeedlesOf(said)
		if ok != (want != "") || ok && n.Text() != want {
			t.Errorf("%q is %q, %v; not %q", said, n.Text(), ok, want)
		}
	}
	for by, want := range map[int]string{-1: "4 mm, US 6, old UK 8", 1: "5 mm, US 8, old UK 6"} {
		if n, ok := dsl.NextNeedles("US 7", by); !ok || n.Text() != want {
			t.Errorf("%d from US 7 is %q", by, n.Text())
		}
	}
	if _, ok := dsl.NextNeedles("2 mm", -1); ok {
		t.Error("there is nothing below 2 mm in the table")
	}
}

// Craft Yarn Council, Standard Yarn Weight System (as transcribed at hertzoffjo.blogspot.com, February 2019): stocking stitch to 4 in and
// needles of categories 2 to 4. From one end of a category to the other, needles go as stitches do: by proportion the finer end's
// needles and stitches lead to the coarser end's needles, to within a size.
func TestNeedlesByProportion(t *testing.T) {
	for _, c := range []struct {
		many, few int64
		fine      string
		coarse    string
	}{{26, 23, "3.25 mm", "3.75 mm"}, {24, 21, "3.75 mm", "4.5 mm"}, {20, 16, "4.5 mm", "5.5 mm"}} {
		got, steps, ok := dsl.NeedlesFor(c.fine, big.NewRat(c.many, c.few))
		if !ok || steps < 1 {
			t.Fatalf("%s: %v, %d", c.fine, got, steps)
		}
		want, _ := dsl.NeedlesOf(c.coarse)
		next, _ := dsl.NextNeedles(got.Mm+" mm", 1)
		before, _ := dsl.NextNeedles(got.Mm+" mm", -1)
		if got != want && next != want && before != want {
			t.Errorf("%d sts on %s lead to %s for %d, not to %s", c.many, c.fine, got.Mm, c.few, c.coarse)
		}
	}
	// 22 sts are asked for and 19 were knitted on 4.5 mm: 4.5 × 19/22 is 3.9.
	if got, steps, _ := dsl.NeedlesFor("US 7", big.NewRat(19, 22)); got.Mm != "4" || steps != -1 {
		t.Errorf("%v, %d", got, steps)
	}
	if got, steps, _ := dsl.NeedlesFor("4 mm", big.NewRat(101, 100)); got.Mm != "4" || steps != 0 {
		t.Errorf("%v, %d", got, steps)
	}
	if _, _, ok := dsl.NeedlesFor("two strands", big.NewRat(1, 1)); ok {
		t.Error("no size was said")
	}
}
