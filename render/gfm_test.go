package render

import (
	"bytes"
	"html"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/extension"
)

func commonMark(t testing.TB, src []byte) string {
	t.Helper()
	var b bytes.Buffer
	if err := goldmark.New(goldmark.WithExtensions(extension.GFM)).Convert(src, &b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// A reading copy says the same in GitHub's Markdown whoever reads it: goldmark, or pandoc, which has a reader of its own.
func TestReadingCopyInAnotherMarkdown(t *testing.T) {
	pandoc, err := exec.LookPath("pandoc")
	if err != nil {
		if os.Getenv("GAUGEWRIGHT_OUTSIDE") == "1" {
			t.Fatal("pandoc is not installed, and GAUGEWRIGHT_OUTSIDE=1 asks for it")
		}
		t.Skip("pandoc is not installed (set GAUGEWRIGHT_OUTSIDE=1 to make this a failure)")
	}
	words := func(page string) string {
		return strings.Join(strings.Fields(html.UnescapeString(tags.ReplaceAllString(page, " "))), " ")
	}
	all := drafts(t)
	lantern, err := os.ReadFile("testdata/lantern.md")
	if err != nil {
		t.Fatal(err)
	}
	all["lantern.md"] = lantern
	for name, src := range all {
		copied := ReadingCopy(converted(t, name, src, looser(t, name, src)), Options{Units: "both"})
		run := exec.Command(pandoc, "--from=gfm", "--to=html", "--wrap=preserve")
		run.Stdin = bytes.NewReader(copied)
		out, err := run.Output()
		if err != nil {
			t.Fatal(err)
		}
		if got, want := words(string(out)), words(commonMark(t, copied)); got != want {
			i := 0
			for i < min(len(got), len(want)) && got[i] == want[i] {
				i++
			}
			t.Errorf("%s reads otherwise:\npandoc   %q\ngoldmark %q", name, got[max(0, i-40):min(len(got), i+80)], want[max(0, i-40):min(len(want), i+80)])
		}
	}
}
