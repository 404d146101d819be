package render

import (
	"html"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// What is escaped has no sign of mark-up left, and a browser reads back what it was.
func TestEscape(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringOf(rapid.RuneFrom([]rune(`&<>"'a;é#`))).Draw(t, "text")
		var m markup
		m.text(s)
		if got := m.String(); strings.ContainsAny(got, `<>"`) || html.UnescapeString(got) != s || escape(s) != got {
			t.Fatalf("%q became %q and %q", s, got, escape(s))
		}
	})
}
