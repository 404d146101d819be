package mark

import (
	"bytes"
	"testing"
)

// unmarked takes out what was put in.
func unmarked(m *Marking) []byte {
	var out []byte
	at := 0
	new := m.New
	old := 0
	for _, x := range m.Inserted {
		out = append(out, new[at:at+x.At-old]...)
		at += x.At - old + len(x.Text)
		old = x.At
	}
	return append(out, new[at:]...)
}

func TestMarkChangesNothingElse(t *testing.T) {
	src := []byte("Cast on 98 (106, 114) sts. Work 18 rows, then bind off 5 sts at the beginning of the next 2 rows.\n")
	m, diags := Mark("plain.md", src)
	if len(diags) > 0 {
		t.Fatal(diags)
	}
	if got := unmarked(m); !bytes.Equal(got, src) {
		t.Errorf("taking out what was put in gives %q", got)
	}
	for i, want := range []string{"cast on", "work", "bind off"} {
		if i >= len(m.Found) || m.Found[i].Kind != want {
			t.Errorf("instruction %d: found %v, want %s", i, m.Found, want)
		}
	}
}
