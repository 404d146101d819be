package rewrite_test

import (
	"math/big"
	"strings"
	"testing"

	"gaugewright/rewrite"
)

// Three swatches followed on paper, from the card through the decision to the garment, with the sums a knitter does: so many stitches
// times the width of one, which is what the ruler read divided by the stitches under it. Nothing of the tool is used for them.

// wide is how wide stitches are, of which some measured so many millimetres.
func wide(stitches, read, millimetres int64) *big.Rat {
	return big.NewRat(stitches*millimetres, read*10)
}

func way(t *testing.T, ch rewrite.Choice, kind rewrite.WayKind, size string) rewrite.Way {
	t.Helper()
	for _, w := range ch.Ways {
		if w.Kind == kind && (size == "" || w.Size == size) {
			return w
		}
	}
	t.Fatalf("no way of kind %d, %q", kind, size)
	return rewrite.Way{}
}

func comesTo(t *testing.T, w rewrite.Way, name string, paper *big.Rat) {
	t.Helper()
	g := got(t, w, name)
	// A gauge is written with two decimals, which moves a width by a fortieth of a per cent at most.
	if off := new(big.Rat).Quo(new(big.Rat).Sub(g.Gets, paper), paper); off.Abs(off).Cmp(big.NewRat(1, 2000)) > 0 {
		t.Errorf("%s is %s cm, on paper %s", name, g.Gets.FloatString(2), paper.FloatString(2))
	}
}

const lamplighter = "# Lamplighter's Waistcoat\n\n```draft\nfabric main: 22 sts and 30 rows to 10 cm\nsizes: S (M, L)\nchest = 88 (94, 100) cm\nback width = (chest + 6 cm) / 2\n" +
	"side length = 30 (31, 32) cm\narmhole depth = 20 (21, 22) cm\ncross back = 36 (38, 40) cm\nneck width = 16 (17, 18) cm\n```\n\n## Back\n\n" +
	"{Cast on 104 (110, 116) sts | back width, even}. {Work to 30 (31, 32) cm, ending with a WS row | side length}.\n" +
	"{Bind off 6 sts at the beginning of the next 2 rows | as underarm}. {Decrease 1 st at each end of every 2nd row 6 (7, 8) times, starting on the next row}:\n" +
	"{80 (84, 88) sts | cross back}. {Work to 20 (21, 22) cm from underarm, ending with a WS row | armhole depth}.\n" +
	"{Bind off 22 (23, 24) sts at the beginning of the next 2 rows}. {Bind off 36 (38, 40) sts | neck width}.\n"

// 47 stitches read 20.1, 20.0 and 20.2 cm, so 20.1. S as written, 104 stitches, is 104 × 20.1/47 = 44.5 cm for 47: 2.5 cm under on a
// back, 5 on a chest. M's 110 are 47.04 cm, its 84 across the back 35.9 for 36, its 38 at the neck 16.25 for 16. Sides and armholes
// are measured with a tape. A teacher says: follow M, and your own lengths.
func TestFollowedAnotherSize(t *testing.T) {
	x := decide(t, lamplighter, "fabric main, needles 4 mm, flat\nwashed: 47 sts over 20.1 cm, 20.0 cm, 20.2 cm; 60 rows over 20 cm, 20 cm", rewrite.Request{Sizes: []string{"S"}})
	ch := x.Choices[0]
	if ch.Advice != rewrite.FollowAnother || ch.Ways[ch.Best].Size != "M" || !ch.Close {
		t.Fatalf("%s: %s", ch.Advice, ch.Why(asDrafted))
	}
	m := way(t, ch, rewrite.OtherSize, "M")
	comesTo(t, m, "back width", wide(110, 47, 201))
	comesTo(t, m, "cross back", wide(84, 47, 201))
	comesTo(t, m, "neck width", wide(38, 47, 201))
	comesTo(t, m, "chest", new(big.Rat).Sub(wide(220, 47, 201), big.NewRat(6, 1)))
	comesTo(t, way(t, ch, rewrite.AsWritten, "S"), "back width", wide(104, 47, 201))
	// 30 rows to 10 cm as asked for: 30 cm are 90 rows, which is right whatever size is followed.
	is(t, "the sides", got(t, m, "side length").Gets, "30.00")
	if !strings.HasPrefix(ch.Why(asDrafted), "Follow the counts of size M, with your own lengths: no measure is off by more than 0.3 cm (neck width).") {
		t.Error(ch.Why(asDrafted))
	}
	// 4 mm times 23.38/22 are 4.25 mm: between sizes, so the next is all there is.
	if n := x.Needles[0]; n.Stitches != 1 || n.Steps != 1 || n.Size.Mm != "4.5" {
		t.Errorf("%+v", n)
	}
}

const jersey = "# Gooseberry Jersey\n\n```draft\nfabric main: 20 sts and 28 rounds to 10 cm\nsizes: 2 (4, 6)\nchest = 60 (66, 72) cm\nbody = chest + 8 cm\nside = 24 (26, 28) cm\n" +
	"wrist = 18 (19, 20) cm\nupper arm = 26 (28, 30) cm\nsleeve = 24 (27, 30) cm\n```\n\n## Body\n\n" +
	"{Cast on 136 (148, 160) sts | body, multiple of 4}. {Work to 24 (26, 28) cm | side}. {Bind off all sts}.\n\n## Sleeves\n\n" +
	"{Make 2}. {Cast on 36 (40, 40) sts | wrist, multiple of 4}. {Increase 2 sts every 6th round 8 (8, 10) times}: {52 (56, 60) sts | upper arm}. {Work to 24 (27, 30) cm | sleeve}. {Bind off all sts}.\n"

// 42 stitches read 25 cm. For size 4, a body of 74 cm: as written 148 are 88.1 cm, and even size 2's 136 are 81.0. Recalculated,
// 74 cm are 124.3 stitches, so 124 by fours: 73.8 cm. 19 cm at the wrist are 31.9: 32 by fours, 19.05 cm; 28 cm at the arm are 47,
// which pairs of increases on 32 cannot give: 48 are 28.6, nearer than 46 (27.4).
func TestFollowedRecalculating(t *testing.T) {
	x := decide(t, jersey, "fabric main, needles 5 mm, in the round\nwashed: 42 sts over 25 cm, 25 cm; 60 rounds over 25 cm, 25 cm", rewrite.Request{Sizes: []string{"4"}})
	ch := x.Choices[0]
	if ch.Advice != rewrite.Recalculate || !ch.Close || !strings.Contains(ch.Why(asDrafted), "No printed size is close: the nearest, 2, makes ") {
		t.Fatalf("%s: %s", ch.Advice, ch.Why(asDrafted))
	}
	comesTo(t, way(t, ch, rewrite.AsWritten, "4"), "body", wide(148, 42, 250))
	comesTo(t, way(t, ch, rewrite.OtherSize, "2"), "body", wide(136, 42, 250))
	again := way(t, ch, rewrite.Recalculated, "")
	comesTo(t, again, "body", wide(124, 42, 250))
	comesTo(t, again, "wrist", wide(32, 42, 250))
	comesTo(t, again, "upper arm", wide(48, 42, 250))
	// Size 6 is another matter: its 80 cm are what size 2's 136 stitches make, 80.95, but its sleeves are not.
	if six := decide(t, jersey, "fabric main\nwashed: 42 sts over 25 cm, 25 cm; 60 rounds over 25 cm, 25 cm", rewrite.Request{Sizes: []string{"6"}}).Choices[0]; six.Ways[0].Size != "2" {
		t.Errorf("%s", six.Why(asDrafted))
	}
	// And what convert gives with the same card is what was decided by.
	d := draftOf(t, jersey)
	all, _ := rewrite.WithSwatches(d, cardOf(t, "fabric main, needles 5 mm, in the round\nwashed: 42 sts over 25 cm, 25 cm; 60 rounds over 25 cm, 25 cm"), nil)
	c, diags := rewrite.Convert(d, rewrite.Request{Gauges: all, Sizes: []string{"4"}})
	if c == nil {
		t.Fatal(diags)
	}
	for _, want := range []string{"{Cast on 124 sts", "{Cast on 32 sts", "{48 sts"} {
		if !strings.Contains(string(c.New), want) {
			t.Errorf("%q is missing from\n%s", want, c.New)
		}
	}
}

const harbour = "# Harbour Cap\n\n```draft\nfabric main: 22 sts and 30 rounds to 10 cm\nsizes: S (M, L)\nhead = 50 (54, 58) cm\nhat = head - 4 cm\ndepth = 15 (16, 17) cm\n```\n\n## Cap\n\n" +
	"{Cast on 104 (112, 120) sts | hat, multiple of 8}. {Work to 15 (16, 17) cm | depth}. {Decrease 8 sts every 2nd round until 8 sts remain}. {Draw the yarn through the remaining 8 sts | fixed}.\n"

// 37 stitches read 20 cm: 1.85 to a centimetre, where 2.2 are asked for. 50 cm for a head of 54 would be 92.5 stitches, and eight wedges
// need a multiple of 8: 96 are 51.9 cm and 88 are 47.6. Nothing printed is near (S's 104 are 56.2 cm). The cap wants the stitches it
// was drawn with: 5 mm × 18.5/22 is 4.2 mm, so 4 mm, two sizes down, which a hand can do.
func TestFollowedOtherNeedles(t *testing.T) {
	x := decide(t, harbour, "fabric main, needles 5 mm, in the round\nwashed: 37 sts over 20 cm, 20 cm, 20 cm; 50 rounds over 20 cm", rewrite.Request{Sizes: []string{"M"}})
	ch := x.Choices[0]
	if ch.Advice != rewrite.ChangeNeedles || ch.Close {
		t.Fatalf("%s: %s", ch.Advice, ch.Why(asDrafted))
	}
	comesTo(t, way(t, ch, rewrite.Recalculated, ""), "hat", wide(96, 37, 200))
	comesTo(t, way(t, ch, rewrite.OtherSize, "S"), "hat", wide(104, 37, 200))
	if n := x.Needles[0]; n.Stitches != -1 || n.Steps != -2 || n.Size.Mm != "4" {
		t.Errorf("%+v", n)
	}
	if why := ch.Why(asDrafted); !strings.HasPrefix(why, "Try other needles and swatch again: with this cloth, neither a printed size nor recalculating comes close. The nearest is to recalculate, which makes hat 51.9 cm where 50 cm is wanted") {
		t.Error(why)
	}
	// Four sizes away and more, needles are no way out: 10 stitches where 22 are asked for.
	x = decide(t, harbour, "fabric main, needles 8 mm, in the round\nwashed: 21 sts over 20 cm, 20 cm, 20 cm; 30 rounds over 20 cm", rewrite.Request{Sizes: []string{"M"}})
	if ch = x.Choices[0]; ch.Advice != rewrite.ChangeYarn {
		t.Errorf("%s: %s", ch.Advice, ch.Why(asDrafted))
	}
}
