package grammar

import (
	"maps"
	"slices"
	"strings"
)

// The trade's words, by what they do in a phrase. A line is `TYPE value: spelling, spelling …`; articles are left out
// of spellings of more than one word, for they are passed over in the text too. The longest spelling wins.
const vocabularyText = `
Verb caston: cast, set, cast on, co, cast-on, caston, casting on, set up, are cast on, is cast on, cast on and join in round
Verb pickup: pick up and knit, pick up & knit, pick up & k, pick up & p, are picked up, are picked up and knit, are picked up and knitted, pick up and purl, pick up, pick-up, puk, pu, pu and k, pu & k, pick up and k, picking up, take up, knit up, p / u, p / u and k, p / u & k, p / u and knit, pick up knitwise
Verb work: complete, completing, finish, work even, work straight, work, knit, purl, k, p, continue, cont, continue even, continue straight, continue to work, continue working, continue knitting, continue in this way, do, are knitted, are knit, are purled, are worked, are ribbed, is worked, is knitted, knit back and forth, knit back and forth plain, knit around, cont even, cont straight, carry on, go on, work on, keep on, working, rib, proceed, knit even, knit straight, keep working, work plain, knit plain
Verb dec: are decreased, is decreased, decreased, dec'd, continue decreasing, continue to decrease, cont dec, cont decreasing, continue to dec, keep decreasing, knit 2 together, knit two together, k 2 together, k 2 tog, knit 2 tog, k2tog, narrowing, reduce, reducing, diminish, decrease, dec, decs, decreases, decreasing, narrow, take in
Verb inc: are increased, is increased, increased, inc'd, continue increasing, continue to increase, cont inc, cont increasing, continue to inc, keep increasing, widening, increase, inc, incs, increases, increasing, widen
Verb either: increase or decrease, decrease or increase, inc or dec, dec or inc
Verb repeat: repeat, rep, repeating
Verb bindoff: are bound off, are cast off, bind off, cast off, bo, bind-off, cast-off, binding off, casting off, bind down
Verb turn: turn, turning, short rows, wrap and turn, w and t, work short rows
Verb hold: hold, place, slip, sl, put, leaving, placing, slipping, putting, move, leave, set aside, transfer, keep
Verb resume: place held, put held, return held, slip held, transfer held, resume, return, return to, rejoin yarn at, rejoin yarn at neck edge to, rejoin yarn at inner edge to, rejoin yarn with rs facing to, join yarn to, rejoin yarn and return to, go back to, rejoin yarn to, resume work on, rejoin, continue with, continue on
Verb across: knit across, work across, purl across, k across, p across, work in pattern across, work in patt across, and knit across, then knit across, and work across, then work across
Verb divide: divide sts, divide stitches, split sts, split work, split stitches, split for, divide, split, divide into, split into, divide work into, separate into, separate, dividing, divide for, divide work
Verb join: join, joining, rejoin all
Verb panel: panel, set panel, begin panel, start panel, work panel, set up panel, place panel
Verb endpanel: end panel, stop panel, close panel
Verb space: space, spacing, space out, place evenly
Verb draw: draw, thread, pull, gather, run, pull tight
Verb fasten: fasten off
Verb graft: graft, weave together, kitchener
Verb make: make
Every: every, ev
Next: next
Foll: following, foll, folls, follow, fol
Last last: last, previous, preceding, those
Last this: this, these
Alt: other, alternate, alt, alternating
Side RS: rs, right side, right-side, public side
Side WS: ws, wrong side, wrong-side
Times: times, time
More: more, further, additional, again, another, extra
Then: then, followed by, and then, thereafter, afterwards, after that
And: and, &
Flag eachend: at each end, at both ends, each end, both ends, at either end, either end, at each side, at both sides, at ends, at beginning and end, at beg and end, at beginning and at end
Flag beginning: beg of, beg, beginning of, at beginning, at beg, at start, at begin, in beginning
Flag end: at end
Flag eachside: each side, both sides, either side, on each side, on either side, on both sides, per side, side, sides, to each side, for each side
Flag markers: each side of each marker, each side of every marker, either side of each marker, either side of every marker, on each side of each marker, on each side of every marker, on either side of each marker, on either side of every marker, each side of both markers, either side of both markers, on each side of both markers, on either side of both markers, each side of marker, either side of marker, on each side of marker, on either side of marker, each side of markers, either side of markers, on each side of markers, on either side of markers, both sides of each marker, both sides of every marker, on both sides of each marker, on both sides of every marker, both sides of marker, on both sides of marker, before and after each marker, before and after every marker, before and after marker, before and after markers, at each side of each marker, at either side of each marker, at each side of marker, each side of all markers, each side of every marking thread, each side of each marking thread, each side of both marking threads, each side of both marker threads, on each side of every marking thread, on each side of each marking thread, on each side of both marking threads, on each side of both marker threads, each side of marker thread, on each side of marker thread, on either side of marker thread, on either side of marking thread, each side of m, each side of each m
Flag eachmarker: at each marker, at every marker, at markers, at both markers, at all markers, at marker, at m
Flag evenly: evenly, evenly spaced, spaced evenly, evenly across, evenly across row, evenly across round, evenly over row, evenly over round, evenly along row, evenly in row, evenly in round, evenly distributed, evenly spread, across row, across round, across
Flag spelledout: spelled out, spelt out, written out, spelled-out
Flag samerow: on same row, on same round, in same row, in same round, on that row, same row
Flag meanwhile: meanwhile, at same time, at the same time, simultaneously, while
Flag forgood: for good
Flag all: all, all remaining, all rem
Flag rem: remaining, remain, remains, rem, remained, still on needle, still on needles
Flag centre: centre, center, middle, central
Flag endsin: ends included, including ends, both ends included, ends counted, including both ends, with ends included
Flag endsout: ends not included, ends left out, excluding ends, ends excluded, without ends, ends not counted
Flag beforeend: before end, before end of row, before end of round, before end of needle, from end, from end of row, short of end, sooner, before last turn, before turn, before previous turn, before last turning point, before turning point, unworked, short of last turn, less, fewer
Flag startnext: starting on next, starting with next, starting next, starting at next, beginning on next, beginning with next, beginning next, beg on next, beg with next, starting with this, starting on this, starting on rs, starting with rs, starting on ws, starting with ws, beginning on rs, beginning with rs, starting on right side, starting with right side, starting on first, starting with first
Flag inround: being careful not to twist, taking care not to twist, without twisting, into circle, into ring, into round, in circle, being careful not to twist sts, being careful not to twist stitches, taking care not to twist sts, taking care not to twist stitches, making sure not to twist, being careful that stitches are not twisted, being careful that sts are not twisted, to knit in round, to knit in rnd, to work in round, to work in rnd, for working in round, for working in rnd, for knitting in round, for knitting in rnd, in round, in rounds, join in round, join in rnd, join in rounds, and join in round, and join in rnd, joining in round, join to work in round, join for working in round, join into round, join round, in rnds, in rnd
Flag each: each
Flag fromhere: from here, from here on, from now on, from this point, from this point on
Fill: same, pieces, vertically, horizontally, as follows, on these sts only, these sts only, on these sts, on these stitches only, these stitches only, on these stitches, for underarms, for armholes, first, about, approximately, approx, roughly, on needle, on needles, in all, all told, in total, total, altogether, left, loosely, firmly, tightly, neatly, in pattern, in patt, in pat, in patts, as set, as established, as before, in pattern as set, in pattern as established, in patt as set, keeping pattern correct, keeping continuity of pattern, you have, you should have, you now have, you will have, there are, there is, there should be, there will be, there remain, now, just, knitwise, purlwise, piece measures, work measures, it measures, measures, measuring, measure, total of, worked, working, together, also, in this way, in this manner, in same way, in same manner, likewise, thus, as follows, please, alike, more or less, straight, even, plain, yarn, it, through, tail, work, piece, knitting, ends with, to end, to end of row, to end of round, to end of needle, on, onto, so that, should, be, have, until it, namely, making, which, in place, exactly, only, gently, securely, and break yarn, break yarn and, cut yarn and, break yarn, cut yarn, cutting yarn, breaking yarn, and fasten off, and secure, up, long, wide, deep, high, tall, across back, facing, edge, edges, is, are, has, been, that, your, you, rs facing, ws facing, right side facing, wrong side facing, on holder, on to holder, onto holder, to holder, on hold, on spare needle, on waste yarn, on scrap yarn, on stitch holder, on thread, onto waste yarn, onto scrap yarn, to waste yarn, to scrap yarn, onto stitch holder, aside, onto spare needle, to stitch holder, to safety pin, on safety pin, onto safety pin, to safety-pin, on safety-pin, onto safety-pin, on to safety pin, on another safety pin, on piece of string, on string, on extra needle, onto extra needle, on to spare needle, on another needle, to needle, to needles, back to needle, back on needle, back on needles, back onto needle, back onto needles, back on dpns, back onto dpns, onto needles, onto needle, on to stitch holder, to spare needle, to waste yarn, to thread, on to thread, to scrap yarn, aside for later, on length of yarn, onto thread, onto piece of scrap yarn, onto piece of waste yarn, onto length of scrap yarn, onto length of waste yarn, on piece of scrap yarn, on piece of waste yarn, on length of waste yarn, onto piece of yarn, on piece of yarn, to spare yarn, onto spare yarn, on spare yarn, onto dpns, to dpns, on dpns, live, per needle, in each size, respectively, also called, sized, whole, entire, number, amounting to, circumference, alternately, throughout, and continue, and cont, and knit, and purl, knit across, knit to end, then knit to end, work to end, then work to end, work to end of row, knit to end of row, and work to end, and knit to end, and work to end of row, and knit to end of row, square, sq, without shaping, without further shaping, height, width, length, so
`

type spelling struct {
	words []string
	typ   tokenType
	val   string
}

// vocabulary is indexed by the first word of a spelling, longest spellings first.
var vocabulary, vocabularyWords = buildVocabulary()

func buildVocabulary() (map[string][]spelling, []string) {
	out := map[string][]spelling{}
	seen := map[string]bool{}
	var words []string
	for _, line := range strings.Split(strings.TrimSpace(vocabularyText), "\n") {
		head, rest, _ := strings.Cut(line, ": ")
		name, val, _ := strings.Cut(head, " ")
		typ := tokenNames[name]
		for _, sp := range strings.Split(rest, ", ") {
			w := strings.Fields(sp)
			v := val
			if v == "" {
				v = sp
			}
			list := out[w[0]]
			at := len(list)
			for at > 0 && len(list[at-1].words) < len(w) {
				at--
			}
			list = append(list, spelling{})
			copy(list[at+1:], list[at:])
			list[at] = spelling{w, typ, v}
			out[w[0]] = list
			for _, x := range w {
				if !seen[x] {
					seen[x] = true
					words = append(words, x)
				}
			}
		}
	}
	for _, w := range slices.Sorted(maps.Keys(unitWords)) { // in one order, so that a near miss is always told alike
		if !seen[w] {
			seen[w] = true
			words = append(words, w)
		}
	}
	for _, w := range strings.Fields("from in as at of to over after before until leaving with along around for starting ending beginning the fixed even odd multiple smaller larger rounded up down right wrong") {
		if !seen[w] {
			seen[w] = true
			words = append(words, w)
		}
	}
	return out, words
}

var unitWords = map[string]Unit{
	"st": Stitches, "sts": Stitches, "stitch": Stitches, "stitches": Stitches, "stich": NoUnit,
	"row": Rows, "rows": Rows, "r": Rows,
	"round": Rounds, "rounds": Rounds, "rnd": Rounds, "rnds": Rounds, "rds": Rounds, "rd": Rounds,
	"ridge": Ridges, "ridges": Ridges, "ribs": Ridges, "turns": Ridges,
	"cm": Centimetres, "cms": Centimetres, "centimetre": Centimetres, "centimetres": Centimetres, "centimeter": Centimetres, "centimeters": Centimetres,
	"mm": Millimetres, "mms": Millimetres, "millimetre": Millimetres, "millimetres": Millimetres, "millimeter": Millimetres, "millimeters": Millimetres,
	"in": Inches, "ins": Inches, "inch": Inches, "inches": Inches,
	"g": Grams, "gr": Grams, "gm": Grams, "gms": Grams, "gram": Grams, "grams": Grams, "gramme": Grams, "grammes": Grams,
	"oz": Ounces, "ozs": Ounces, "ounce": Ounces, "ounces": Ounces,
	"m": Metres, "metre": Metres, "metres": Metres, "meter": Metres, "meters": Metres,
	"yd": Yards, "yds": Yards, "yard": Yards, "yards": Yards,
	"ball": Balls, "balls": Balls, "skein": Balls, "skeins": Balls, "hank": Balls, "hanks": Balls,
	"repeat": Repeats, "repeats": Repeats, "reps": Repeats, "rep": Repeats,
}

// anywhere are the units that mean themselves even where no number stands before them.
func anywhere(u Unit) bool { return u == Stitches || u == Rows || u == Rounds }

var articles = map[string]bool{"the": true, "a": true, "an": true}

// stopWords end a name that is not known beforehand.
var stopWords = map[string]bool{}

func init() {
	for _, w := range strings.Fields(`as from to in into until till with and over after before ending then every next following foll
		for on at leaving times spelled spelt of remain remaining remains rem worked more starting beginning meanwhile alternate alt
		evenly onto along around & only so which while where when making having or`) {
		stopWords[w] = true
	}
}

// nearest finds the word of the list that is closest to w by edit distance, or "" where none is close.
func nearest(w string, lists ...[]string) string {
	limit := 1
	switch n := len(w); {
	case n < 3, n > 40, strings.ContainsAny(w, "0123456789"):
		return ""
	case n >= 9:
		limit = 3
	case n >= 6:
		limit = 2
	}
	best, bestD := "", limit+1
	for _, l := range lists {
		for _, c := range l {
			if c == w || len(c) < 2 || len(c)-len(w) > limit || len(w)-len(c) > limit {
				continue
			}
			if d := editDistance([]rune(w), []rune(c), bestD); d < bestD {
				best, bestD = c, d
			}
		}
	}
	return best
}
