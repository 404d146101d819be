package render

import (
	"bytes"
	"flag"
	"math/big"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/dsl"
)

var update = flag.Bool("update", false, "write what is drawn as what is wanted; look at it before it is taken")

// The pictures of one small draft, each looked at by a person before it was taken.
func TestGolden(t *testing.T) {
	src, err := os.ReadFile("testdata/lantern.md")
	if err != nil {
		t.Fatal(err)
	}
	c := converted(t, "lantern.md", src, &dsl.Gauge{Stitches: big.NewRat(17, 10), Rows: big.NewRat(24, 10)})
	draw := func(f func() ([]byte, error)) []byte {
		b, err := f()
		if err != nil {
			t.Fatal(err)
		}
		// Style sheet and script are looked at in a browser, not here.
		for _, css := range []string{styles, reviewStyles, sizeRules(len(c.Targets)), schematicStyles, pieceRules(len(c.Targets)), pageScript} {
			b = bytes.Replace(b, []byte(css), nil, 1)
		}
		return b
	}
	for name, got := range map[string][]byte{
		"reading.md":      ReadingCopy(c, Options{}),
		"reading-both.md": ReadingCopy(c, Options{Units: "both"}),
		"reading-in.md":   ReadingCopy(c, Options{Units: "in"}),
		"changes.diff":    Diff(c, "lantern.md", "lantern.md"),
		"changes.json":    draw(func() ([]byte, error) { return ChangesJSON(c) }),
		"pattern.html":    draw(func() ([]byte, error) { return Page(c, Options{}) }),
		"changes.html":    draw(func() ([]byte, error) { return ReviewPage(c.Review(), Options{}), nil }),
	} {
		golden(t, filepath.Join("testdata", "lantern", name), got)
	}
}

// golden compares what was drawn with what somebody looked at and took; with -update it is taken anew.
func golden(t *testing.T, path string, got []byte) {
	t.Helper()
	if *update {
		if err := os.WriteFile(path, got, 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s: -want +got\n%s", path, diff)
	}
}
