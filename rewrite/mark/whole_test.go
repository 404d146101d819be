package mark

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"testing"
)

// A number at the end of a brace, and a unit behind the brace.
var (
	numberLast = regexp.MustCompile(`([0-9½¼¾⅓⅔⅛]|[0-9½¼¾][)\]])\}`)
	unitNext   = regexp.MustCompile(`^\s*("|%|(cm|mm|ins?\.|inch|inches|sts?|stitches|rows?|rounds?|rnds?|ribs|ridges)\b)`)
)

// parted is where the end of a brace parts a number from its unit, -1 where none does.
func parted(shown string) int {
	for _, at := range numberLast.FindAllStringIndex(shown, -1) {
		if unitNext.MatchString(shown[at[1]:]) {
			return at[0]
		}
	}
	return -1
}

func noneParted(t *testing.T, name string, src []byte) {
	t.Helper()
	m, _ := Mark(name, src)
	if m == nil {
		return
	}
	if text := shown(m); parted(text) >= 0 {
		at := parted(text)
		t.Errorf("%s: a brace ends between a number and its unit: %q", name, text[max(0, at-60):min(len(text), at+20)])
	}
}

// TestUnitsStayWithNumbers: whatever is marked, no brace ends between a number and its unit.
func TestUnitsStayWithNumbers(t *testing.T) {
	if parted("{Repeat these 2 rows until rib measures 6} cm") < 0 || parted("{for 6 (7, 8)} cm") < 0 || parted("{for 6 cm} in rib") >= 0 {
		t.Fatal("the test does not see what it looks for")
	}
	forms := []string{
		"Work in rib for %s.", "Repeat these 2 rows until rib measures %s, ending with a WS row.", "Cont in patt until work meas %s from beg.",
		"Knit %s plain.", "Dec 1 st at each end of every row until %s rem.", "Dec 1 st at each end of every 4th row, then every alt row until %s rem.",
		"Bind off %s at the beginning of the next row.", "Pick up and knit %s along the edge.", "Leave the remaining %s on a holder.",
		"Bind off 14 sts for the neck, and on the remaining %s work 12 rows.", "Rep last 2 rows until %s are on the needle and armhole is deep.", "Inc in every st: %s.",
		"Work as given for back until front measures %s.", "Place marker after %s, then cast on %[1]s more.",
	}
	amounts := []string{"6 cm", "2½ in", "3 ins.", `4"`, "12 rows", "98 sts", "1 st", "16 stitches", "20 rounds", "6 (7, 8) cm", "98 (106, 114) sts", "98 [106: 114] stitches", "24 ribs"}
	for _, form := range forms {
		for _, amount := range amounts {
			text := "Sizes: S (M, L)\n\nCast on 98 (106, 114) sts. " + fmt.Sprintf(form, amount) + "\n"
			noneParted(t, text, []byte(text))
		}
	}
	files, _ := filepath.Glob("../../testdata/plain/*.md")
	old, _ := filepath.Glob("../../../shared/corpus/*.txt")
	for _, name := range append(files, old...) {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		noneParted(t, filepath.Base(name), src)
	}
}
