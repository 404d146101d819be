package grammar

import (
	"reflect"
	"strings"
	"sync"
	"testing"
)

// TestParseTogether: drafts that are read at the same time share their trees, and each is read as it is alone.
func TestParseTogether(t *testing.T) {
	drafts := readDrafts(t)
	var wait sync.WaitGroup
	for name, src := range drafts {
		alone, diags := Parse(name, src)
		for range 4 {
			wait.Go(func() {
				f, d := Parse(name, src)
				if !reflect.DeepEqual(f, alone) || !reflect.DeepEqual(d, diags) {
					t.Errorf("%s is read differently beside others", name)
				}
			})
		}
	}
	wait.Wait()
}

// TestTreesAreShared: phrases of the same types of tokens, for however many sizes, have one tree; what is read of them
// is their own.
func TestTreesAreShared(t *testing.T) {
	f := formOf[phraseSyntax](phraseLexer)
	trees := map[*phraseSyntax]bool{}
	for _, text := range []string{"cast on 98 sts", "Cast off 6 (7, 8) sts", "make 2 (4) [6, 8] stitches"} {
		tree, _, ok := f.parse(phraseTokens(text, scanText(text, false), newNames(), nil).tokens)
		if !ok {
			t.Fatalf("%q is not read", text)
		}
		trees[tree] = true
	}
	if len(trees) != 1 {
		t.Errorf("%d trees, not one", len(trees))
	}
}

// TestTreesAreBounded: whatever is read, no more than so many trees are kept, and phrases beyond them are read all the same.
func TestTreesAreBounded(t *testing.T) {
	f := formOf[phraseSyntax](phraseLexer)
	read := func(text string) bool {
		_, _, ok := f.parse(phraseTokens(text, scanText(text, false), newNames(), nil).tokens)
		return ok
	}
	for n := range maxTrees + 10 {
		var b strings.Builder
		b.WriteString("work")
		for bit := range 13 {
			b.WriteString([2]string{" 5", ", "}[n>>bit&1])
		}
		if text := b.String(); !read(text) {
			t.Fatalf("%q is not read", text)
		}
	}
	if len(f.trees) != maxTrees {
		t.Errorf("%d trees are kept, not %d", len(f.trees), maxTrees)
	}
	f.trees = nil
	if !read("work "+strings.Repeat("5 rows, ", maxTreeTokens)) || len(f.trees) != 0 {
		t.Errorf("a phrase of many tokens is kept, or not read")
	}
}
