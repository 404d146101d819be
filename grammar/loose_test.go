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
		{"Row 3: k5 (6, 7), yo, k2tog, k5 (k6 for L).", []string{"5 (6, 7)"}},
		{"Dec every 9th (8th, 7th) row.", []string{"9th (8th, 7th) row"}},
		{"Knit 12 (12 1/2, 13) in, or 32 (34: 36) [38, 40] cm. K 9.", []string{"12 (12 1/2, 13) in", "32 (34: 36) [38, 40] cm"}},
		{"Sizes 32 (34, 36); 2 x 2 rib.", nil},
		{"Sew on 6 buttons (12 mm), 2 (3) to a side.", []string{"6 buttons", "2 (3) to"}},
		{"Cast on 40 (the edge) and 50 (or 60) sts. It is 5 (6 (7)).", []string{"40", "50", "60", "5", "6 (7)"}},
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
