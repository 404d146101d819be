package grammar

import "testing"

// What rows do, recounted by hand stitch by stitch.
func TestRowText(t *testing.T) {
	for _, x := range []struct {
		text string
		want RowText
		ok   bool
	}{
		{"k1, k2tog, knit to last 3 sts, ssk, k1", RowText{6, 4, true, false, false}, true},
		{"Knit", RowText{0, 0, true, false, false}, true},
		{"purl to end.", RowText{0, 0, true, false, false}, true},
		{"*K1, m1, knit to 1 st before marker, m1, k1, sm; repeat from * to end of round", RowText{2, 4, true, true, false}, true},
		{"Knit to marker, m1, knit to next marker, m1, knit to end", RowText{0, 2, true, false, false}, true},
		{"rib 4, (m1, rib 8) 11 times, rib to end", RowText{92, 103, true, false, false}, true},
		{"K4, (m1, k8) 11 times, k to end", RowText{92, 103, true, false, false}, true},
		{"K3, *yo, k2tog, k1; rep from * to last 3 sts, k3", RowText{6, 6, true, false, false}, true},
		{"K2, *k2tog, k5; rep from * to last 2 sts, k2", RowText{11, 10, true, true, false}, true},
		{"k17 (21, 25), pm, m1, k2, m1, pm, k to end", RowText{19, 21, true, false, true}, true},
		{"cast off 6 sts, k to last 2 sts, k2tog", RowText{8, 1, true, false, false}, true},
		{"Knit sixty-two stitches; knit two together", RowText{64, 63, false, false, false}, true},
		{"Work Row 3 of chart", RowText{}, false},
		{"Rep from * to end", RowText{}, false},
		{"place the sleeve sts on hold", RowText{}, false},
	} {
		pl, _ := ReadPlain("row", []byte(x.text))
		got, ok := pl.Row(pl.Prose[0].Words)
		if ok != x.ok || ok && got != x.want {
			t.Errorf("%s: %v %v, want %v %v", x.text, got, ok, x.want, x.ok)
		}
	}
}
