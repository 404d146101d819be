package render

import (
	"bytes"
	"math/big"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// made by hand: every number in the marked phrases of a source grows by one, whatever it means. The views must draw any
// conversion faithfully, a sensible one or not.
func grown(t testing.TB, name string, src []byte) *rewrite.Conversion {
	t.Helper()
	f, diags := grammar.Parse(name, src)
	if diags.Has(grammar.Error) {
		t.Fatalf("%s cannot be read:\n%s", name, Diagnostics(f, diags, false))
	}
	c := &rewrite.Conversion{Draft: &dsl.Draft{File: f}, Targets: []dsl.Target{{Name: "S", T: new(big.Rat)}, {Name: "M", T: new(big.Rat)}}, Proven: true}
	g := dsl.Gauge{Stitches: big.NewRat(2, 1), Rows: big.NewRat(28, 10)}
	c.Gauges = []rewrite.GaugeChange{{Fabric: "main", From: g, To: dsl.Gauge{Stitches: big.NewRat(18, 10), Rows: big.NewRat(5, 2)}, Over: big.NewRat(10, 1)}}
	for _, b := range f.Blocks {
		if b.Kind == grammar.DraftBlock {
			c.Draft.Block = b
		}
	}
	for i, m := range f.Marks {
		mt := rewrite.MarkText{Mark: i}
		s := f.Text(m.PhraseSpan)
		for at := 0; at < len(s); {
			j := at
			for j < len(s) && (s[j] < '0' || s[j] > '9') {
				j++
			}
			if j > at {
				mt.Pieces = append(mt.Pieces, rewrite.Piece{Text: s[at:j], Number: -1})
			}
			k := j
			for k < len(s) && s[k] >= '0' && s[k] <= '9' {
				k++
			}
			if k > j {
				n, _ := new(big.Int).SetString(s[j:k], 10)
				now := n.Add(n, big.NewInt(1)).String()
				mt.Pieces = append(mt.Pieces, rewrite.Piece{Text: now, Was: s[j:k], Changed: true, Number: -1})
				mt.Changed = true
				c.Edits = append(c.Edits, rewrite.Edit{Start: m.PhraseSpan.Start + j, End: m.PhraseSpan.Start + k, New: now})
			}
			at = k
		}
		c.Marks = append(c.Marks, mt)
	}
	c.New = applyEdits(src, c.Edits)
	return c
}

func applyEdits(src []byte, edits []rewrite.Edit) []byte {
	var b bytes.Buffer
	at := 0
	for _, e := range edits {
		b.Write(src[at:e.Start])
		b.WriteString(e.New)
		at = e.End
	}
	b.Write(src[at:])
	return b.Bytes()
}

// drafts are the drafts shipped with the project.
func drafts(t testing.TB) map[string][]byte {
	t.Helper()
	names, err := filepath.Glob("../testdata/drafts/*.md")
	if err != nil || len(names) == 0 {
		t.Fatalf("no drafts found: %v", err)
	}
	out := map[string][]byte{}
	for _, n := range names {
		b, err := os.ReadFile(n)
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(n)] = b
	}
	return out
}

// small is a draft of one block and the text given.
func small(text string) []byte {
	return []byte("```draft\nfabric main: 20 sts and 28 rows to 10 cm\n```\n\n" + text)
}

func mustContain(t *testing.T, got []byte, want ...string) {
	t.Helper()
	for _, w := range want {
		if !bytes.Contains(got, []byte(w)) {
			t.Errorf("missing %q in\n%s", w, strings.TrimSpace(string(got)))
		}
	}
}

func mustLack(t *testing.T, got []byte, not ...string) {
	t.Helper()
	for _, w := range not {
		if bytes.Contains(got, []byte(w)) {
			t.Errorf("unwanted %q in\n%s", w, strings.TrimSpace(string(got)))
		}
	}
}
