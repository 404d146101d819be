package mark

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"gaugewright/grammar"
)

// sound holds what must be true of any marking: what was put in taken out again is the text, the marked text can be read, and
// marking it again changes nothing.
func sound(t *testing.T, src []byte) {
	t.Helper()
	before := bytes.Clone(src)
	m, diags := Mark("text", src)
	if !bytes.Equal(src, before) {
		t.Fatal("the text was changed")
	}
	if m == nil {
		if !diags.Has(grammar.Error) {
			t.Fatal("nothing came of it, and nothing is said")
		}
		return
	}
	if got := unmarked(m); !bytes.Equal(got, src) {
		t.Fatalf("taking out what was put in gives\n%q\nof\n%q", got, src)
	}
	if diags.Has(grammar.Error) {
		if len(m.Inserted) > 0 {
			t.Fatal("a text that cannot be read was marked")
		}
		return
	}
	if _, diags := grammar.Parse("text", m.New); diags.Has(grammar.Error) {
		t.Fatalf("what is marked cannot be read: %s\n%s", diags.Error(), m.New)
	}
	last := 0
	for _, f := range m.Found {
		if f.Start < last || f.End <= f.Start || f.End > len(src) {
			t.Fatalf("%d to %d is found after %d in %d bytes", f.Start, f.End, last, len(src))
		}
		last = f.End
	}
	again, _ := Mark("text", m.New)
	if again == nil || !bytes.Equal(again.New, m.New) {
		t.Fatalf("marking twice is not marking once:\n%s\nand then\n%s", m.New, again.New)
	}
}

func FuzzMark(f *testing.F) {
	paths, _ := filepath.Glob("../../testdata/marking/open/*.md")
	for _, p := range paths {
		if src, err := os.ReadFile(p); err == nil && len(src) < 1500 {
			f.Add(src)
		}
	}
	f.Add([]byte("# T\r\n\r\nCast on 98 (106, 114) sts.\r\n> Work 18\r\n> rows. *Bind off* 5 sts.\r\n\r\n| a |\r\n|---|\r\n| cast on 4 sts \\| b |\r\n"))
	f.Add([]byte("---\na: b\n---\nCast on 60 sts. {Work 4 rows}. `knit 6 rows`\n\n    knit 8 rows\n"))
	f.Add([]byte("Sizes: S (M, L)\nChest: 88 (96, 104) cm\nCast on 88/96/104 sts. (K8, k2tog) 10 times. Rep Rows 1-4 3 times. C.O. 5 sts.\n"))
	f.Add([]byte("Cast 16 stitches on each of 3 needles. Narrow at the end of every row till 9 remain. Repeat these two rows twice."))
	f.Fuzz(func(t *testing.T, src []byte) {
		if len(src) > 1<<12 {
			t.Skip("long")
		}
		sound(t, src)
	})
}
