package render

import (
	"bytes"
	"encoding/json"
	"math/big"
	"os"
	"path/filepath"
	"testing"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// Whatever stands on a card, it is refused with a reason or read into gauges that are the inverse of their readings, and what is
// said of it is data and the same each time.
func FuzzCard(f *testing.F) {
	names, _ := filepath.Glob("../testdata/cards/*.md")
	if len(names) == 0 {
		f.Fatal("no cards found")
	}
	for _, name := range names {
		src, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src)
	}
	f.Add([]byte("```swatch\nfabric main\nwashed: 36 sts over 17.0, 17.1 cm; 15½ rows over 2 1/4 in\nhung: 1 row over 4 mm\nweighs 2 oz\n```\n```swatch\nfabric rib\nunwashed: 1 st over 99 cm\n```\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		file, _ := grammar.Parse("card.md", src)
		c, more := dsl.ReadCard(file)
		if c == nil {
			if !more.Has(grammar.Error) {
				t.Fatal("refused without a reason")
			}
			return
		}
		if more.Has(grammar.Error) {
			t.Fatalf("read with an error: %v", more)
		}
		for i := range c.Swatches {
			for _, st := range states(&c.Swatches[i]) {
				for _, n := range []*dsl.Count{st.of.Stitches, st.of.Rows} {
					if n == nil {
						continue
					}
					if x := new(big.Rat).Mul(n.Gauge(), n.Per); x.Cmp(big.NewRat(1, 1)) != 0 {
						t.Fatalf("%s × %s", n.Gauge(), n.Per)
					}
					least, most := n.Bounds(n.Per)
					if x := new(big.Rat).Add(least, most); n.Off.Sign() <= 0 || x.Cmp(new(big.Rat).Add(n.Per, n.Per)) != 0 {
						t.Fatalf("%s ± %s", n.Per, n.Off)
					}
				}
			}
		}
		a, err := SwatchesJSON(c)
		if err != nil || !json.Valid(a) {
			t.Fatal(err)
		}
		if b, _ := SwatchesJSON(c); !bytes.Equal(a, b) || !bytes.Equal(Swatches(c, Options{}), Swatches(c, Options{})) {
			t.Fatal("not the same twice")
		}
	})
}
