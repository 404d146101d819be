package grammar

import (
	"slices"
	"testing"
)

// TestLooseLists: a number for each size is one find, with its first number, also where a knit or purl word stands before it.
func TestLooseLists(t *testing.T) {
	for _, x := range []struct {
		text string
		want []string
	}{
		{"Next row: K 23 (24, 26), bind off center 13 sts, k to end.", []string{"23 (24, 26)", "13 sts"}},
		{"Row 1 (RS): K 16 (18, 20), ssk, k1, turn.", []string{"16 (18, 20)"}},
		{"Work across the 28 (32, 36) instep sts.", []string{"28 (32, 36) instep"}},
		{"Purl 32 (34)[36, 38] sts.", []string{"32 (34)[36, 38] sts"}},
		{"K2 (p2), k2 to the end.", nil},
		{"Row 2: k3, p5, k3 (do not turn).", nil},
		{"With 4 (4.5, 5) mm needles.", nil},
	} {
		f, _ := Parse("x.md", []byte("```draft\nfabric main: 20 sts and 28 rows to 10 cm\n```\n\n"+x.text+"\n"))
		var got []string
		for _, l := range f.Loose {
			got = append(got, l.Text)
		}
		if !slices.Equal(got, x.want) {
			t.Errorf("%s\n got %q\nwant %q", x.text, got, x.want)
		}
	}
}
