package mark

import (
	"os"
	"strings"
	"testing"
)

// TestWays: what designers write in so many ways is found, and nothing else is.
func TestWays(t *testing.T) {
	src, err := os.ReadFile("testdata/ways.txt")
	if err != nil {
		t.Fatal(err)
	}
	for n, line := range strings.Split(string(src), "\n") {
		if line == "" || line[0] == '#' {
			continue
		}
		plain := strings.NewReplacer("{", "", "}", "").Replace(line)
		m, _ := Mark("way", []byte(plain))
		if got := shown(m); got != line {
			t.Errorf("line %d\n got %s\nwant %s", n+1, got, line)
		}
	}
}

// shown is the text with the braces, without ties and without a block.
func shown(m *Marking) string {
	var ins []Insert
	for _, f := range m.Found {
		ins = append(ins, Insert{f.Start, "{"}, Insert{f.End, "}"})
	}
	return string(apply(m.Old, ins))
}
