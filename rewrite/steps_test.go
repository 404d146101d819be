package rewrite_test

import (
	"math/big"
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// Bind-offs on alternate rows that are written with one number of stitches need several at another gauge: the steps then add up to
// what was taken away, and the new draft is sound.
func TestStepsWrittenWithOneNumber(t *testing.T) {
	for _, x := range []struct{ phrase, rest string }{
		{"BO 6 sts at beg of next and foll alt row", "BO rem 6 sts"},
		{"BO 6 sts at beg of next 2 alt rows", "BO rem 6 sts"},
		{"BO 3 sts at beg of next and foll 3 alt rows", "BO rem 6 sts"},
		{"cast off 4 sts at the neck edge on the next and foll 2 alt rows", "cast off rem 6 sts"},
	} {
		src := "# Shoulder\n\n```draft\nfabric main: 18 sts and 24 rows to 10 cm\n```\n\n{CO 18 sts}. {Work 4 rows}. {" + x.phrase + "}. {" + x.rest + "}.\n"
		d := draftOf(t, src)
		for sts := int64(10); sts <= 30; sts++ {
			c, diags := rewrite.Convert(d, rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: dsl.Gauge{Stitches: big.NewRat(sts, 10), Rows: big.NewRat(sts*4, 30)}}}})
			if c == nil {
				t.Fatal(x.phrase, sts, diags)
			}
			f, diags := grammar.Parse("new.md", c.New)
			_, more := dsl.Read(f)
			for _, g := range append(diags, more...) {
				if g.Severity >= grammar.Fault {
					t.Errorf("%s at %d sts: %s\n%s", x.phrase, sts, g.Summary, c.New[strings.Index(string(c.New), "{CO"):])
					break
				}
			}
		}
	}
}

// A line end inside the braces does not change where the shaping falls.
func TestLineEndsInsideASchedule(t *testing.T) {
	src := "# Edge\n\n```draft\nfabric main: 22 sts and 30 rows to 10 cm\n```\n\n{CO 58 sts}. {Work 4 rows}. {Decrease 1 st at each end of every RS row%s4 times}. {50 sts}. {Work 8 rows}.\n"
	for sts := int64(14); sts <= 30; sts++ {
		var got [2]string
		for i, gap := range []string{" ", "\n"} {
			c, diags := rewrite.Convert(draftOf(t, strings.Replace(src, "%s", gap, 1)), rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: dsl.Gauge{Stitches: big.NewRat(sts, 10), Rows: big.NewRat(31, 10)}}}})
			if c == nil {
				t.Fatal(diags)
			}
			got[i] = strings.Join(strings.Fields(string(c.New)), " ")
		}
		if got[0] != got[1] {
			t.Errorf("at %d sts:\n%s\n%s", sts, got[0], got[1])
		}
	}
}
