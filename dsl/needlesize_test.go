package dsl_test

import (
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
