package rewrite

import (
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// TestRowsNamed: rows told under numbers must follow from the repeats between them, and where that cannot be told nothing is said.
func TestRowsNamed(t *testing.T) {
	for _, x := range []struct{ text, want string }{
		{"1st row: k2, p2.\n2nd row: p2, k2.\n{Repeat the 2nd row 34 times more | taken up here}.\n37th row: knit.", ""},
		{"1st row: k2, p2.\n2nd row: p2, k2.\n{Repeat the 2nd row 34 times more | taken up here}, 36 rows of ribbing.\n37th row: knit.", ""},
		{"1st row: k2, p2.\n2nd row: p2, k2.\n{Repeat the 2nd row 34 times more | taken up here}, 34 rows of ribbing.\n37th row: knit.",
			"34 rows are said here, but 36 are worked before row 37"},
		{"Row 1: k2, p2.\nRow 2 (WS): p2, k2. {Repeat the last row 8 times more | taken up here}.\nRow 12: knit.", "row 12 is told next, but the rows before it go to 10"},
		{"Row 1: k2, p2.\nRow 2 (WS): p2, k2. {Repeat the last row 8 times more | taken up here}.\nRow 11: knit.", ""},
		// four in all, or four more
		{"4th row: k2. {Repeat this row 4 times | taken up here}.\n8th row: knit.", ""},
		{"4th row: k2. {Repeat this row 4 times | taken up here}.\n9th row: knit.", ""},
		{"4th row: k2. {Repeat this row 4 times | taken up here}.\n10th row: knit.", "row 10 is told next, but the rows before it go to 8"},
		{"Row 4: k2. {Repeat row 4 3 times more | taken up here}.\nRow 9: knit.", "row 9 is told next, but the rows before it go to 7"},
		// not all of it can be followed, or the numbers begin again
		{"4th row: k2. {Repeat this row 4 times | taken up here}. Work plain until it is long enough.\n30th row: knit.", ""},
		{"4th row: k2. {Repeat this row 4 times | taken up here}.\n\n## Front\n\n30th row: knit.", ""},
		{"4th row: k2. {Repeat this row 4 times | taken up here}.\n1st row: knit.", ""},
		{"4th row: k2. {Repeat the 3rd row 4 times | taken up here}.\n30th row: knit.", ""},
		{"5th row: k2. {Repeat this row 4 times more | taken up here}, 34 rows of rib.\n10th row: knit.", ""},
	} {
		f, diags := grammar.Parse("rows.md", []byte("```draft\nnotation 1\nfabric main: 20 sts and 28 rows to 10 cm\n```\n\n{Cast on 52 sts}. "+x.text+"\n"))
		d, more := dsl.Read(f)
		if d == nil {
			t.Fatal(x.text, diags, more)
		}
		notes, _ := Check(d)
		got := ""
		for _, n := range notes {
			if strings.Contains(n.Summary, "told next") || strings.Contains(n.Summary, "said here") {
				got += n.Summary
			}
		}
		if got != x.want {
			t.Errorf("%s\n got %q\nwant %q", x.text, got, x.want)
		}
	}
}
