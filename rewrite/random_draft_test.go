package rewrite_test

import (
	"fmt"
	"math/big"
	"strings"

	"pgregory.net/rapid"

	"gaugewright/dsl"
)

// The maker writes random drafts that are sound: it works every piece itself, size by size, with arithmetic of its own, so
// that each number it writes follows from those before it.

// nums are whole numbers, one a size.
type nums []int64

func (v nums) plus(w nums, k int64) nums {
	out := make(nums, len(v))
	for i := range v {
		out[i] = v[i] + k*w[i]
	}
	return out
}

func (v nums) add(k int64) nums {
	out := make(nums, len(v))
	for i := range v {
		out[i] = v[i] + k
	}
	return out
}

func (v nums) times(k int64) nums { return make(nums, len(v)).plus(v, k) }

func (v nums) max() int64 {
	m := v[0]
	for _, x := range v {
		m = max(m, x)
	}
	return m
}

func (v nums) min() int64 {
	m := v[0]
	for _, x := range v {
		m = min(m, x)
	}
	return m
}

func (v nums) zero() bool { return v.max() == 0 && v.min() == 0 }

type cloth struct {
	name     string
	st, rows *big.Rat // to a centimetre
}

// work is a piece in hand.
type work struct {
	count  nums
	pos    nums // rows worked
	height []*big.Rat
}

func (w *work) copy() *work {
	c := *w
	c.height = append([]*big.Rat(nil), w.height...)
	return &c
}

type maker struct {
	t        *rapid.T
	n        int
	inches   bool
	main     cloth
	rib      cloth
	cable    *cloth
	measures []string
	text     strings.Builder
	names    int
	style    [3]string // opening, separating, closing
	now      *work
	flat     bool
	row      string // `row`, `round`, `rnd`
	sts      string
	cast     [2]string // `cast on`, `bind off`
	dec      string
	inc      string
	numbers  []string // names of counts that could be pinned
	labels   []string
	sizes    []string
	chest    nums
}

// randomDraft is a sound draft.
type randomDraft struct {
	src    string
	sizes  []string
	names  []string
	labels []string
	chest  nums // of each size, in centimetres; nil where it is in inches
}

func (m *maker) int(lo, hi int, what string) int64 {
	return int64(rapid.IntRange(lo, max(lo, hi)).Draw(m.t, what))
}

func (m *maker) coin(what string) bool { return rapid.Bool().Draw(m.t, what) }

func (m *maker) one(what string, of ...string) string {
	return rapid.SampledFrom(of).Draw(m.t, what)
}

// graded is a number for each size that does not shrink from size to size.
func (m *maker) graded(lo, hi, step int, what string) nums {
	out := make(nums, m.n)
	x := m.int(lo, hi, what)
	for i := range out {
		out[i] = x
		x += m.int(0, step, what+" grows")
	}
	return out
}

func (m *maker) same(x int64) nums {
	out := make(nums, m.n)
	for i := range out {
		out[i] = x
	}
	return out
}

func (m *maker) strings(x []string) string {
	same := true
	for _, s := range x {
		same = same && s == x[0]
	}
	if same {
		return x[0]
	}
	return x[0] + " " + m.style[0] + strings.Join(x[1:], m.style[1]) + m.style[2]
}

func (m *maker) list(v nums) string {
	x := make([]string, len(v))
	for i := range v {
		x[i] = fmt.Sprint(v[i])
	}
	return m.strings(x)
}

func (m *maker) stitches(v nums) string {
	if v.min() == 1 && v.max() == 1 {
		return "1 st"
	}
	return m.list(v) + " " + m.sts
}

func (m *maker) rowsText(v nums) string {
	if v.min() == 1 && v.max() == 1 {
		return "1 " + m.row
	}
	return m.list(v) + " " + m.row + "s"
}

func (m *maker) timesText(v nums) string {
	if v.min() == 1 && v.max() == 1 {
		return m.one("once", "1 time", "once")
	}
	return m.list(v) + " times"
}

func (m *maker) again(v nums) string {
	if v.max() == 1 && m.coin("said properly") {
		return "1 more time"
	}
	return m.list(v) + " more times"
}

// tape is a length in steps of what a tape is read to: half centimetres, quarter inches.
func (m *maker) tape(v nums) string {
	x := make([]string, len(v))
	for i, k := range v {
		if m.inches {
			whole, part := k/4, k%4
			x[i] = [...]string{"", "1/4", "1/2", "3/4"}[part]
			switch {
			case part == 0:
				x[i] = fmt.Sprint(whole)
			case whole > 0:
				x[i] = fmt.Sprint(whole, " ", x[i])
			}
			continue
		}
		x[i] = strings.TrimSuffix(fmt.Sprintf("%.1f", float64(k)/2), ".0")
	}
	if m.inches {
		return m.strings(x) + " in"
	}
	return m.strings(x) + " cm"
}

func (m *maker) step() *big.Rat {
	if m.inches {
		return big.NewRat(254, 400)
	}
	return big.NewRat(1, 2)
}

func (m *maker) name(base string) string {
	m.names++
	return fmt.Sprintf("%s %s", base, [...]string{"ash", "birch", "cedar", "elm", "fir", "hazel", "larch", "maple", "oak", "pine", "rowan", "willow", "yew", "alder", "aspen", "beech", "box", "elder", "holly", "lime", "olive", "pear", "plum", "quince", "sallow", "service", "spruce", "thorn", "walnut", "whin"}[m.names%30]) + strings.Repeat("z", m.names/30)
}

// measure enters a measure whose values are near the width of so many stitches, and gives its name.
func (m *maker) measure(base string, v nums, f cloth) string {
	name := m.name(base)
	x := make(nums, m.n)
	off := m.int(-1, 1, "off the measure")
	if off != 0 && m.coin("exact after all") {
		off = 0
	}
	for i := range v {
		cm := new(big.Rat).Quo(new(big.Rat).SetInt64(v[i]), f.st)
		x[i] = max(1, rounded(cm.Quo(cm, m.step())).Int64()+off)
	}
	m.measures = append(m.measures, name+" = "+m.tape(x))
	return name
}

// rounded is the nearest whole number, halves upwards.
func rounded(x *big.Rat) *big.Int {
	y := new(big.Rat).Add(x, big.NewRat(1, 2))
	return new(big.Int).Div(y.Num(), y.Denom())
}

// ties writes what stands after the bar.
func ties(t ...string) string {
	var out []string
	for _, x := range t {
		if x != "" {
			out = append(out, x)
		}
	}
	if len(out) == 0 {
		return ""
	}
	return " | " + strings.Join(out, ", ")
}

func (m *maker) say(s string) { m.text.WriteString(s) }

func (m *maker) mark(phrase, tie string) {
	m.say(m.one("before", "", "", "Then ", "With care, ", "— ", "(as you like it) "))
	m.say("{" + phrase + tie + "}")
	m.say(m.one("after", ".\n", ".\n", ";\n", ",\nand so on.\n", ".\n\n", ".\n\n- ", " and then\n"))
}

func (m *maker) heading(s string) {
	m.flat = true
	m.say("\n\n## " + s + "\n\n")
	if m.coin("prose") {
		m.say(m.one("prose", "Wind the wool first; it is the quiet part.\n", "*Patience*, said the café owner — and 𝓀nit on.\n",
			"> Any colour will do,\n> so long as it is grey.\n\n", "Read [the note](https://example.org/a_b) about `k2, p2`.\n", "1. Sit down.\n2. Begin.\n\n"))
	}
}

func (m *maker) label(base string) string {
	n := m.name(base)
	m.labels = append(m.labels, n)
	return n
}

// multiple is a tie that all the counts meet, and what it is a multiple of.
func (m *maker) multiple(v nums) string {
	var ok []string
	for _, k := range []int64{2, 3, 4, 6, 8} {
		r := v[0] % k
		all := true
		for _, x := range v {
			all = all && x%k == r
		}
		if !all {
			continue
		}
		switch {
		case k == 2 && r == 0:
			ok = append(ok, "even")
		case k == 2:
			ok = append(ok, "odd")
		case r == 0:
			ok = append(ok, fmt.Sprintf("multiple of %d", k))
		case r == k-1 && k > 3:
			ok = append(ok, fmt.Sprintf("multiple of %d - 1", k))
		default:
			ok = append(ok, fmt.Sprintf("multiple of %d + %d", k, r))
		}
	}
	if len(ok) == 0 || !m.coin("multiple") {
		return ""
	}
	return rapid.SampledFrom(ok).Draw(m.t, "multiple of")
}

// tie is a tie to a measure, or none.
func (m *maker) tie(base string, v nums, f cloth) string {
	if !m.coin("tied") {
		return ""
	}
	name := m.measure(base, v, f)
	if m.int(0, 5, "expression") == 0 {
		return name + " * 2 / 2"
	}
	return name
}

func (m *maker) in(f cloth) string {
	if f.name == m.main.name {
		return ""
	}
	return " in " + f.name
}

func (m *maker) fabric() cloth {
	if m.coin("in rib") {
		return m.rib
	}
	return m.main
}

// begin takes up a new piece.
func (m *maker) begin(v nums) {
	m.now = &work{count: v, pos: m.same(0), height: make([]*big.Rat, m.n)}
	for i := range m.now.height {
		m.now.height[i] = new(big.Rat)
	}
}

func (m *maker) pass(rows nums, f cloth) {
	for i := range rows {
		m.now.height[i] = new(big.Rat).Add(m.now.height[i], new(big.Rat).Quo(new(big.Rat).SetInt64(rows[i]), f.rows))
	}
	m.now.pos = m.now.pos.plus(rows, 1)
}

// castOn begins a piece; the row word after it decides between flat and round.
func (m *maker) castOn(v nums, base, as string) {
	f := m.fabric()
	m.begin(v)
	name := ""
	if as != "" {
		name = "as " + as
		m.numbers = append(m.numbers, as)
	}
	tie := m.tie(base, v, f)
	round := ""
	if tie != "" && m.int(0, 4, "rounded") == 0 {
		round = m.one("rounded which way", "rounded up", "rounded down")
	}
	m.mark(m.cast[0]+" "+m.stitches(v)+m.in(f), ties(tie, m.multiple(v), round, name))
}

// workRows are plain rows; in flat work after a cast-on they keep the sides whatever their number.
func (m *maker) workRows(v nums, f cloth, tie string) {
	m.mark(m.one("verb", "work", "work", "knit")+" "+m.rowsText(v)+m.in(f), tie)
	m.pass(v, f)
}

// workTo works on until the height above a place is about so many rows more. from is nil for the piece's cast-on.
func (m *maker) workTo(more nums, from []*big.Rat, place string, f cloth) {
	length := make(nums, m.n)
	rows := make(nums, m.n)
	ws := true
	ending := ""
	if m.flat && m.coin("ending") {
		ending = ", ending with a WS row"
		if m.coin("RS") {
			ending, ws = ", ending with a RS row", false
		}
	}
	for i := range more {
		done := new(big.Rat).Set(m.now.height[i])
		if from != nil {
			done.Sub(done, from[i])
		}
		want := new(big.Rat).Add(done, new(big.Rat).Quo(new(big.Rat).SetInt64(more[i]), f.rows))
		length[i] = rounded(want.Quo(want, m.step())).Int64()
		x := new(big.Rat).Mul(m.step(), new(big.Rat).SetInt64(length[i]))
		x.Sub(x, done)
		x.Mul(x, f.rows)
		if !m.flat {
			rows[i] = rounded(x).Int64()
			continue
		}
		parity := m.now.pos[i] % 2
		if !ws {
			parity = 1 - parity
		}
		x.Sub(x, new(big.Rat).SetInt64(parity))
		rows[i] = 2*rounded(x.Quo(x, big.NewRat(2, 1))).Int64() + parity
	}
	for _, r := range rows {
		if r < 1 {
			m.t.Fatalf("the maker works less than a row: %v", rows)
		}
	}
	text := m.tape(length)
	tie := ""
	if m.coin("length tied") {
		name := m.name("length")
		switch m.int(0, 2, "length from") {
		case 0:
			m.measures = append(m.measures, name+" = "+m.tape(length.add(4)))
			tie = ties(name + " - " + m.tape(m.same(4)))
		default:
			m.measures = append(m.measures, name+" = "+text)
			tie = ties(name)
		}
	}
	to := m.one("to", "work to ", "to ", "until piece measures ", "work to ")
	if place != "" {
		place = " from " + place
	}
	m.mark(to+text+place+m.in(f)+ending, tie)
	m.pass(rows, f)
}

func (m *maker) state(base string, chance int) {
	if m.int(0, chance, "stated") != 0 {
		return
	}
	phrase := m.stitches(m.now.count)
	switch m.int(0, 2, "remain") {
	case 0:
		phrase += " remain"
	case 1:
		phrase = "— " + phrase
	}
	name := ""
	if m.int(0, 3, "named") == 0 {
		n := m.label(base)
		m.numbers = append(m.numbers, n)
		name = "as " + n
	}
	m.mark(phrase, ties(m.tie(base, m.now.count, m.main), m.multiple(m.now.count), name))
}

func ordinal(n int64) string {
	switch {
	case n%100 >= 11 && n%100 <= 13:
		return fmt.Sprintf("%dth", n)
	case n%10 == 1:
		return fmt.Sprintf("%dst", n)
	case n%10 == 2:
		return fmt.Sprintf("%dnd", n)
	case n%10 == 3:
		return fmt.Sprintf("%drd", n)
	}
	return fmt.Sprintf("%dth", n)
}

func (m *maker) every(k nums) string {
	if k.max() == k.min() {
		switch k[0] {
		case 1:
			return "every " + m.row
		case 2:
			if m.coin("in words") {
				return m.one("other", "every other "+m.row, "every alternate "+m.row, "every 2nd "+m.row)
			}
		}
	}
	x := make([]string, len(k))
	for i := range k {
		x[i] = ordinal(k[i])
	}
	return "every " + m.strings(x) + " " + m.row
}

// interval is a drafted interval: even ones are likelier in flat work.
func (m *maker) interval(lo, hi int) nums {
	k := m.int(lo, hi, "interval")
	if m.flat && k > 1 && m.int(0, 3, "odd interval") != 0 {
		k += k % 2
	}
	out := m.same(k)
	if m.n > 1 && k > 3 && m.int(0, 3, "interval per size") == 0 {
		for i := range out {
			out[i] = max(2, k-2*int64(i))
		}
	}
	return out
}

// shape shapes at an edge: per stitches a time at each of edges edges, about so many times; it never takes away more than
// all but keep stitches.
func (m *maker) shape(increase bool, sts int64, where string, edges int64, about nums, tie string) {
	per := sts * edges
	verb := m.dec
	sign := int64(-1)
	if increase {
		verb, sign = m.inc, 1
	}
	head := fmt.Sprintf("%s %s", verb, map[bool]string{true: "1 st", false: fmt.Sprintf("%d sts", sts)}[sts == 1])
	if where != "" {
		head += " " + where
	}
	of := func() string {
		if strings.HasSuffix(where, "end") || strings.HasSuffix(where, "edge") || strings.HasSuffix(where, "beginning") {
			return m.one("of", " of ", " ")
		}
		return " "
	}
	on := func() string {
		if strings.HasPrefix(where, "at ") {
			return " of "
		}
		return " on "
	}
	n := about
	done := func(times, rows nums) {
		m.now.count = m.now.count.plus(times, sign*per)
		m.pass(rows, m.main)
	}
	rowsOf := func(k, n nums) nums {
		out := make(nums, m.n)
		for i := range out {
			out[i] = k[i] * n[i]
		}
		return out
	}
	switch m.int(0, 8, "form") {
	case 0: // every k-th row n times
		k := m.interval(1, 8)
		rows := rowsOf(k, n)
		start := ""
		if m.coin("starting") {
			start = ", starting on the next " + m.row
			rows = rows.plus(k, -1).add(1)
		}
		m.mark(head+of()+m.every(k)+" "+m.timesText(n)+start, tie)
		done(n, rows)
	case 1, 2: // two clauses
		k1 := m.interval(1, 6)
		k2 := m.interval(1, 6)
		second := m.graded(0, 5, 2, "then")
		if m.int(0, 2, "later sizes only") == 0 && m.n > 1 {
			second[0] = 0
		}
		if second.max() == 0 {
			second = second.add(1)
		}
		first := n.plus(second, -1)
		for i := range first {
			if first[i] < 1 {
				first[i], second[i] = n[i], 0
			}
		}
		if second.max() == 0 {
			first, second = n, m.same(0)
		}
		rows := rowsOf(k1, first).plus(rowsOf(k2, second), 1)
		start := ""
		if m.int(0, 3, "starting") == 0 {
			start = ", starting on the next " + m.row
			rows = rows.plus(k1, -1).add(1)
		}
		m.mark(head+of()+m.every(k1)+" "+m.timesText(first)+", then "+m.every(k2)+" "+m.timesText(second)+start, tie)
		done(n, rows)
	case 3: // next and every following
		k := m.interval(2, 8)
		if n.min() < 2 {
			n = n.add(1)
		}
		m.mark(head+on()+"the next "+m.row+" and every following "+strings.TrimPrefix(m.every(k), "every ")+" "+m.timesText(n.add(-1)), tie)
		done(n, rowsOf(k, n.add(-1)).add(1))
	case 4: // until
		k := m.interval(1, 6)
		after := m.now.count.plus(n, sign*per)
		if increase {
			m.mark(head+of()+m.every(k)+" until there are "+m.stitches(after), tie)
		} else {
			m.mark(head+of()+m.every(k)+" until "+m.stitches(after)+" remain", tie)
		}
		done(n, rowsOf(k, n))
	case 5: // a row and its repeat
		if tie != "" || n.min() < 2 {
			m.shape(increase, sts, where, edges, about, tie)
			return
		}
		name := m.label("shaping")
		m.mark(head+on()+"the next "+m.row, ties("as "+name))
		done(m.same(1), m.same(1))
		k := m.interval(1, 6)
		m.mark("repeat the "+name+" "+m.every(k)+" "+m.again(n.add(-1)), "")
		done(n.add(-1), rowsOf(k, n.add(-1)))
	case 6: // the last two rows again
		if tie != "" || n.min() < 2 {
			m.shape(increase, sts, where, edges, about, tie)
			return
		}
		m.mark(head+on()+"the next "+m.row, "")
		done(m.same(1), m.same(1))
		m.workRows(m.same(1), m.main, "")
		m.mark("repeat the last 2 "+m.row+"s "+m.again(n.add(-1)), "")
		done(n.add(-1), n.add(-1).times(2))
	case 7: // the count first
		if !m.flat || n.min() < 2 {
			m.shape(increase, sts, where, edges, about, tie)
			return
		}
		second := m.graded(1, 3, 1, "alternate")
		first := n.plus(second, -1)
		if first.min() < 1 {
			second = m.same(1)
			first = n.add(-1)
		}
		m.mark(head+" of the next "+m.rowsText(first)+", then on foll "+m.list(second)+" alt rows", tie)
		done(n, first.plus(second.times(2), 1))
	case 8: // every right-side row, three clauses
		k := m.interval(1, 4)
		a := m.graded(1, 3, 1, "first")
		c := m.graded(1, 3, 1, "last")
		b := n.plus(a, -1).plus(c, -1)
		if b.min() < 1 {
			m.shape(increase, sts, where, edges, about, tie)
			return
		}
		k2 := k.add(2)
		m.mark(head+of()+m.every(k)+" "+m.timesText(a)+", then "+m.every(k2)+" "+m.timesText(b)+", then "+m.every(k)+" "+m.timesText(c), tie)
		done(n, rowsOf(k, a).plus(rowsOf(k2, b), 1).plus(rowsOf(k, c), 1))
	}
}

// evenly increases or decreases evenly and mostly states what comes of it.
func (m *maker) evenly(increase bool, d nums) {
	if m.int(0, 4, "either way") == 0 {
		for i := range d {
			d[i] = m.int(-4, 4, "either way")
		}
		m.now.count = m.now.count.plus(d, 1)
		f := m.fabric()
		m.mark(m.inc+" or "+m.dec+" evenly to "+m.stitches(m.now.count)+m.in(f), ties(m.tie("evened", m.now.count, f), m.multiple(m.now.count)))
		m.pass(m.same(1), m.main)
		return
	}
	verb, sign := m.dec, int64(-1)
	if increase {
		verb, sign = m.inc, 1
	}
	out := ""
	if m.coin("spelled out") {
		out = ", spelled out"
	}
	m.mark(verb+" "+m.stitches(d)+" evenly"+out, "")
	m.now.count = m.now.count.plus(d, sign)
	m.pass(m.same(1), m.main)
	f := m.fabric()
	if m.int(0, 3, "stated") != 0 {
		m.mark(m.stitches(m.now.count)+m.in(f), ties(m.tie("evened", m.now.count, f), m.multiple(m.now.count)))
	}
}

// steps is a stepped edge of t stitches a side in s steps at the beginning of rows.
func (m *maker) steps(steps int64, each nums, longer nums) {
	each = append(nums(nil), each...)
	for i := range each {
		each[i] = max(1, min(each[i], (m.now.count[i]-8)/(2*steps)-1))
	}
	// each+1 in the first `longer` steps, each in the rest
	if steps == 1 {
		m.mark(m.cast[1]+" "+m.stitches(each)+" at the beginning of the next 2 rows", "")
		m.now.count = m.now.count.plus(each, -2)
		m.pass(m.same(2), m.main)
		return
	}
	rest := m.same(steps).plus(longer, -1)
	if longer.zero() {
		m.mark(m.cast[1]+" "+m.stitches(each)+" at the beginning of the next "+m.list(m.same(2*steps))+" rows", "")
	} else {
		m.mark(m.cast[1]+" "+m.stitches(each.add(1))+" at the beginning of the next "+m.list(longer.times(2))+" rows, then "+m.stitches(each)+" at the beginning of the following "+m.list(rest.times(2))+" rows", "")
	}
	m.now.count = m.now.count.plus(each, -2*steps).plus(longer, -2)
	m.pass(m.same(2*steps), m.main)
}

func (m *maker) layout(parts ...nums) {
	var x []string
	for _, p := range parts {
		x = append(x, m.list(p))
	}
	m.mark(strings.Join(x, " + ")+" "+m.sts, "")
}

func (m *maker) bindOffAll() {
	switch m.int(0, 2, "ending") {
	case 0:
		m.mark(m.cast[1]+" all "+m.sts, "")
	case 1:
		m.mark(m.cast[1]+" "+m.stitches(m.now.count), ties(m.tie("last", m.now.count, m.main)))
	case 2:
		m.mark(m.cast[1]+" the remaining "+m.stitches(m.now.count), ties(m.tie("last", m.now.count, m.main)))
	}
	m.now = nil
}

func (m *maker) setRow(round bool) {
	m.flat = !round
	m.row = "row"
	if round {
		m.row = m.one("round", "round", "rnd")
	}
}

// body is a flat back: rib, a length, notches, armholes, and then shoulders and neck in one of two ways.
func (m *maker) body(title string) {
	m.heading(title)
	m.setRow(false)
	base := m.graded(72, 100, 8, "back")
	for i := range base {
		base[i] += 4 * int64(i)
		base[i] += base[i] % 2
	}
	back := ""
	if m.coin("named") {
		back = m.name("back")
	}
	m.castOn(base, "width", back)
	m.workRows(m.graded(4, 20, 2, "rib").times(1), m.rib, "")
	if m.int(0, 2, "evenly") == 0 {
		m.evenly(m.coin("more"), m.graded(0, 3, 1, "evened").times(2))
	}
	if m.int(0, 4, "panel") == 0 && m.cable != nil {
		m.mark(fmt.Sprintf("panel of %d %s in %s", m.int(3, 8, "panel")*2, m.sts, m.cable.name), ties(m.one("panel tie", "", "fixed")))
	}
	m.workTo(m.graded(30, 70, 4, "body rows"), nil, "", m.main)
	start := append([]*big.Rat(nil), m.now.height...)
	under := m.label("underarm")
	notch := m.graded(3, 6, 2, "notch")
	m.mark(m.cast[1]+" "+m.stitches(notch)+" at the beginning of the next 2 rows", ties("as "+under))
	m.numbers = append(m.numbers, under)
	m.now.count = m.now.count.plus(notch, -2)
	m.pass(m.same(2), m.main)
	if back != "" && notch.max() == notch.min() && base.plus(m.now.count, -1).max() == 2*notch[0] && base.plus(m.now.count, -1).min() == 2*notch[0] && m.coin("by relation") {
		m.mark(m.stitches(m.now.count), ties(fmt.Sprintf("%s - %d sts", back, 2*notch[0])))
	} else {
		m.state("after notch", 3)
	}
	m.shape(false, 1, "at each end", 2, m.graded(3, 6, 2, "armhole"), "")
	m.state("cross back", 1)
	if m.coin("centre neck") {
		m.centreNeck(start, under)
		return
	}
	m.workTo(m.graded(16, 40, 3, "armhole rows"), start, under, m.main)
	steps := m.int(1, 4, "steps")
	each := m.graded(3, 5, 1, "step")
	longer := m.same(0)
	if m.coin("uneven steps") {
		for i := range longer {
			longer[i] = m.int(0, int(steps), "longer steps")
		}
		if steps == 1 {
			longer = m.same(0)
		}
	}
	m.steps(steps, each, longer)
	m.bindOffAll()
}

func (m *maker) centreNeck(start []*big.Rat, under string) {
	m.workTo(m.graded(12, 24, 3, "to the neck"), start, under, m.main)
	side := make(nums, m.n)
	centre := make(nums, m.n)
	for i, n := range m.now.count {
		centre[i] = 10 + n%2 + 2*m.int(0, 3, "centre")
		side[i] = (n - centre[i]) / 2
	}
	tie := ties(m.tie("neck", centre, m.main))
	m.mark(m.cast[1]+" the centre "+m.stitches(centre)+", leaving "+m.stitches(side)+" each side", tie)
	m.now.count = side
	m.pass(m.same(1), m.main)
	left := m.name("left side")
	m.mark("hold "+m.stitches(side)+" as "+left, "")
	kept := m.now.copy()
	edge := m.graded(2, 6, 1, "neck edge")
	for i := range edge {
		edge[i] = max(2, min(edge[i], side[i]-10))
	}
	one := func() {
		m.shape(false, 1, "at the neck edge", 1, edge, "")
		if m.coin("stated") {
			m.mark(m.stitches(m.now.count), "")
		}
		m.workTo(m.graded(8, 20, 2, "to the shoulder"), start, under, m.main)
		if m.int(0, 2, "one edge") == 0 {
			a, k := m.graded(3, 4, 0, "armhole step"), m.int(1, 2, "armhole steps")
			room := m.now.count.min() - 4
			if a[0]*(k+1) <= room {
				m.mark(m.cast[1]+" "+m.stitches(a)+" at the armhole edge on the next row, then "+m.stitches(a.add(-1))+" every 2nd row "+m.timesText(m.same(k)), "")
				m.now.count = m.now.count.plus(a, -1).plus(a.add(-1), -k)
				m.pass(m.same(1+2*k), m.main)
				m.workRows(m.same(1), m.main, "")
			}
		} else if m.coin("stepped side") {
			a := m.graded(2, 4, 1, "side step")
			m.mark(m.cast[1]+" "+m.stitches(a)+" at the beginning of the next row", "")
			m.now.count = m.now.count.plus(a, -1)
			m.pass(m.same(1), m.main)
			m.workRows(m.same(1), m.main, "")
		}
		m.bindOffAll()
	}
	one()
	m.mark("resume "+left, "")
	m.now = kept
	one()
}

// sleeve is worked from the cuff, flat with a cap or in the round.
func (m *maker) sleeve() {
	round := m.coin("round")
	m.heading(m.one("sleeve", "Sleeves", "Sleeve"))
	if m.coin("two") {
		m.mark("make 2", "")
	}
	m.setRow(round)
	cuff := ""
	if m.coin("named") {
		cuff = m.name("cuff")
	}
	m.castOn(m.graded(36, 50, 4, "cuff"), "wrist", cuff)
	m.workRows(m.graded(4, 18, 1, "cuff rows"), m.rib, ties(map[bool]string{true: "fixed"}[m.int(0, 6, "fixed") == 0]))
	if m.int(0, 2, "evenly") == 0 {
		m.evenly(true, m.graded(0, 4, 1, "evened"))
	}
	tie := ""
	if round {
		m.shape(true, 2, "", 1, m.graded(5, 10, 2, "sleeve"), tie)
	} else {
		m.shape(true, 1, "at each end", 2, m.graded(5, 10, 2, "sleeve"), tie)
	}
	m.state("upper arm", 1)
	m.workTo(m.graded(20, 60, 3, "sleeve rows"), nil, "", m.main)
	if round || m.coin("no cap") {
		m.bindOffAll()
		return
	}
	notch := m.graded(2, 4, 1, "notch")
	m.mark(m.cast[1]+" "+m.stitches(notch)+" at the beg of the next 2 rows", "")
	m.now.count = m.now.count.plus(notch, -2)
	m.pass(m.same(2), m.main)
	m.shape(false, 1, "at each end", 2, m.graded(6, 9, 2, "cap"), "")
	m.state("cap", 2)
	m.steps(m.int(1, 3, "steps"), m.graded(2, 3, 1, "step"), m.same(0))
	m.bindOffAll()
}

// hat is worked in the round to a drawn-up crown.
func (m *maker) hat() {
	m.heading("Hat")
	m.setRow(true)
	lines := m.int(4, 9, "lines")
	v := make(nums, m.n)
	k := m.int(10, 13, "head")
	for i := range v {
		v[i] = lines * k
		k += m.int(0, 2, "head grows")
	}
	head := m.name("hat")
	m.castOn(v, "head", head)
	m.workRows(m.graded(4, 14, 1, "brim"), m.rib, "")
	if m.n > 2 && m.int(0, 2, "larger sizes only") == 0 {
		m.mark("sizes "+m.sizes[m.n-2]+" and "+m.sizes[m.n-1]+" only: work 2 "+m.row+"s in rib", "")
		more := m.same(0)
		more[m.n-2], more[m.n-1] = 2, 2
		m.pass(more, m.rib)
	}
	if m.coin("laid out") {
		a := make(nums, m.n)
		for i := range v {
			a[i] = v[i] / 3
		}
		m.layout(a, a, v.plus(a, -2))
	}
	m.workTo(m.graded(18, 40, 2, "depth"), nil, "", m.main)
	if m.coin("again") {
		m.mark(m.stitches(m.now.count), ties(head))
	}
	crown := m.label("crown")
	first := v.times(0)
	for i := range v {
		first[i] = v[i] / lines / 2
	}
	m.mark(fmt.Sprintf("%s %d sts %s until %s remain", m.dec, lines, m.every(m.interval(2, 4)), m.stitches(v.plus(first, -lines))), ties("as "+crown))
	// only its count is of use from here on
	m.now.count = v.plus(first, -lines)
	left := m.now.count.times(0)
	for i := range left {
		left[i] = lines
	}
	m.mark(fmt.Sprintf("%s %d sts every %s until %s remain", m.dec, lines, m.row, m.stitches(left)), "")
	m.mark("draw the yarn through the remaining "+m.stitches(left), ties(m.one("fixed", "", "fixed")))
	m.now = nil
}

// yoke is a raglan from the neck down, body and sleeves.
func (m *maker) yoke() {
	m.heading("Yoke")
	m.setRow(true)
	back := m.graded(26, 34, 2, "neck")
	arm := m.graded(8, 12, 1, "shoulder")
	neck := back.plus(arm, 1).times(2)
	m.castOn(neck, "neck", m.name("neck edge"))
	m.workRows(m.graded(3, 8, 0, "neckband"), m.rib, "")
	markers := m.int(0, 2, "markers") == 0
	if markers {
		m.mark(m.stitches(back)+" as "+m.name("rear")+" + "+m.stitches(arm)+" as "+m.name("arm")+" + "+m.stitches(back)+" as "+m.name("fore")+" + "+m.stitches(arm)+" as "+m.name("arm"), "")
	} else {
		m.layout(back, arm, back, arm)
	}
	k := m.graded(12, 18, 3, "raglan")
	start := append([]*big.Rat(nil), m.now.height...)
	yoke := m.label("yoke")
	rows := k.times(2)
	along := make(nums, m.n)
	if markers {
		m.mark(fmt.Sprintf("%s 1 st each side of each marker every 2nd %s %s", m.inc, m.row, m.timesText(k)), ties("as "+yoke))
		along = k
	} else {
		m.mark(fmt.Sprintf("%s 4 sts every 2nd %s %s", m.inc, m.row, m.timesText(k)), ties("as "+yoke))
	}
	if !markers && m.coin("meanwhile") {
		for i := range along {
			along[i] = k[i] - 1 - m.int(0, 4, "beside")
		}
		m.mark(fmt.Sprintf("meanwhile %s 4 sts every 2nd %s %s", m.inc, m.row, m.timesText(along)), "")
	}
	m.pass(rows, m.main)
	m.now.count = m.now.count.plus(k, 4).plus(along, 4)
	back, arm = back.plus(k, 2), arm.plus(along, 2)
	m.state("yoke count", 1)
	m.workTo(m.graded(4, 16, 2, "yoke depth"), start, yoke, m.main)
	if m.coin("laid out again") {
		m.layout(back, arm, back, arm)
	}
	if arm.min() < 10 {
		m.bindOffAll()
		return
	}
	left, right := m.name("left sleeve"), ""
	right = "right" + strings.TrimPrefix(left, "left")
	under, gusset := m.label("underarm"), m.name("gusset")
	m.mark("hold "+m.stitches(arm)+" as "+left, ties("as "+under))
	g := m.graded(4, 8, 1, "gusset")
	m.mark(m.cast[0]+" "+m.stitches(g)+" at the left underarm", ties("as "+gusset))
	m.numbers = append(m.numbers, gusset)
	m.mark("hold "+m.stitches(arm)+" as "+right, "")
	m.mark(m.cast[0]+" "+m.stitches(g)+" at the right underarm", ties(gusset))
	at := append([]*big.Rat(nil), m.now.height...)
	m.now.count = m.now.count.plus(arm, -2).plus(g, 2)
	m.state("around", 1)
	kept := m.now.copy()
	m.workTo(m.graded(20, 50, 2, "body"), at, under, m.main)
	if m.coin("hem") {
		m.evenly(m.coin("more"), m.graded(0, 4, 1, "hem"))
	}
	m.workRows(m.graded(4, 10, 1, "hem rows"), m.rib, "")
	m.bindOffAll()
	m.heading("Sleeves of the yoke")
	m.setRow(true)
	m.mark("resume "+left, "")
	m.now = kept
	m.now.count = arm
	top := m.label("sleeve top")
	m.mark("pick up "+m.stitches(g), ties(gusset, "as "+top))
	m.now.count = m.now.count.plus(g, 1)
	from := append([]*big.Rat(nil), m.now.height...)
	m.state("upper arm", 1)
	m.workRows(m.graded(2, 8, 0, "plain"), m.main, "")
	about := make(nums, m.n)
	for i, n := range m.now.count {
		about[i] = max(2, min(5, n/2-4))
	}
	m.shape(false, 2, "", 1, about, "")
	m.workTo(m.graded(10, 20, 2, "sleeve"), from, top, m.main)
	m.workRows(m.graded(4, 10, 1, "cuff"), m.rib, "")
	m.bindOffAll()
	m.mark("work "+right+" as "+left, "")
}

// halves is a tube that is divided for back and front.
func (m *maker) halves() {
	m.heading("Tube")
	m.setRow(true)
	half := m.graded(50, 70, 5, "half")
	tube := m.name("tube")
	m.castOn(half.times(2), "around", tube)
	m.workRows(m.graded(5, 12, 0, "rib"), m.rib, "")
	m.workTo(m.graded(30, 60, 2, "side"), nil, "", m.main)
	odd := make(nums, m.n)
	for i := range odd {
		odd[i] = 2 - m.now.pos[i]%2
	}
	m.workRows(odd, m.main, "")
	back, front := m.name("back half"), m.name("front half")
	m.mark("divide into "+m.stitches(half)+" as "+back+", "+m.stitches(half)+" as "+front, "")
	kept := m.now.copy()
	kept.count = half
	for _, name := range []string{back, front} {
		m.now = kept.copy()
		m.mark("resume "+name, "")
		m.setRow(false)
		// rows from here on; the number of rounds before decides which side comes next
		start := append([]*big.Rat(nil), m.now.height...)
		lab := m.label("armhole")
		n := m.graded(2, 5, 1, "underarm")
		m.mark(m.cast[1]+" "+m.stitches(n)+" at the beginning of the next 2 rows", ties("as "+lab))
		m.now.count = m.now.count.plus(n, -2)
		m.pass(m.same(2), m.main)
		m.shape(false, 1, "at each end", 2, m.graded(2, 4, 1, "armhole"), "")
		m.state("cross", 1)
		m.workTo(m.graded(16, 36, 2, "armhole"), start, lab, m.main)
		if m.coin("shoulders") {
			shoulder := m.graded(8, 10, 1, "shoulder")
			m.layout(shoulder, m.now.count.plus(shoulder, -2), shoulder)
		}
		m.bindOffAll()
	}
}

// legs are two tubes joined.
func (m *maker) legs() {
	m.heading("Legs")
	m.setRow(true)
	n := m.graded(40, 60, 4, "leg")
	tie := m.tie("leg", n, m.main)
	var names []string
	var last *work
	for _, which := range []string{"near leg", "far leg"} {
		m.begin(n)
		m.mark(m.cast[0]+" "+m.stitches(n), ties(tie))
		m.workRows(m.same(8), m.rib, "")
		m.workTo(m.same(30), nil, "", m.main)
		name := m.name(which)
		names = append(names, name)
		m.mark("hold "+m.stitches(n)+" as "+name, "")
		last = m.now
	}
	m.now = last
	m.now.count = n.times(2)
	if m.coin("by name") {
		m.mark("join "+names[0]+" and "+names[1]+": "+m.stitches(m.now.count), "")
	} else {
		m.mark("join "+m.stitches(m.now.count), ties(m.multiple(m.now.count)))
	}
	start := append([]*big.Rat(nil), m.now.height...)
	// After `join` with names the height goes on from the first; both are alike here only if their rows are.
	m.workTo(m.graded(20, 40, 2, "rise"), start, "the join", m.main)
	m.bindOffAll()
}

// sock has a heel flap whose rows are picked up along.
func (m *maker) sock() {
	m.heading("Sock")
	m.setRow(true)
	half := m.graded(20, 32, 2, "sock")
	name := m.name("sock")
	m.castOn(half.times(2), "sock", name)
	m.workRows(m.graded(6, 14, 0, "cuff"), m.rib, "")
	m.workTo(m.graded(20, 60, 2, "leg"), nil, "", m.main)
	m.mark("hold "+m.stitches(half)+" as "+m.name("instep"), ties(name+" / 2"))
	round := m.row
	m.setRow(false)
	flap := m.label("flap")
	rows := half.add(half[0] % 2)
	m.mark("work "+m.rowsText(rows), ties("as "+flap))
	picked := make(nums, m.n)
	for i := range rows {
		picked[i] = (rows[i] + 1) / 2
	}
	for range 2 {
		m.mark("pick up 1 st for every 2 rows of "+flap, "")
	}
	m.now.count = half.times(2).plus(picked, 2)
	m.flat, m.row = false, round
	m.mark("join "+m.stitches(m.now.count), "")
	joined := append([]*big.Rat(nil), m.now.height...)
	if m.coin("straight on") {
		m.mark(fmt.Sprintf("%s 2 sts every 2nd %s until %s remain", m.dec, m.row, m.stitches(half.times(2))), "")
		m.now.count = half.times(2)
		m.pass(picked.times(2), m.main)
		m.workTo(m.graded(10, 30, 2, "foot"), joined, "the join", m.main)
	}
	if m.coin("grafted") {
		together := true
		for _, x := range m.now.count {
			together = together && x%2 == 0
		}
		if together {
			side := make(nums, m.n)
			for i, x := range m.now.count {
				side[i] = x / 2
			}
			m.mark("graft "+m.stitches(side), "")
			m.now = nil
			return
		}
	}
	m.bindOffAll()
}

// match is two pieces, the second as long as the first to a place in it.
func (m *maker) match() {
	m.heading("First piece")
	m.setRow(false)
	v := m.graded(40, 60, 5, "piece")
	name, place := m.name("piece"), m.label("edge")
	m.castOn(v, "piece", name)
	m.workRows(m.graded(4, 10, 0, "hem"), m.rib, "")
	m.workTo(m.graded(20, 40, 2, "first piece"), nil, "", m.main)
	there := m.now.pos
	m.mark(m.cast[1]+" 4 "+m.sts+" at the beginning of the next 2 rows", ties("as "+place))
	m.now.count = m.now.count.add(-8)
	m.pass(m.same(2), m.main)
	m.bindOffAll()
	m.heading("Second piece")
	m.setRow(false)
	m.begin(v)
	m.mark(m.cast[0]+" "+m.stitches(v), ties(name))
	m.workRows(m.graded(4, 10, 0, "hem"), m.rib, "")
	m.mark("work to match "+place+" of first piece", "")
	m.pass(there.plus(m.now.pos, -1), m.main)
	m.bindOffAll()
}

// scarf is a strip with a repeat, short rows, buttonholes.
func (m *maker) scarf() {
	m.heading("Strip")
	m.setRow(false)
	n := m.graded(20, 40, 4, "strip")
	name := m.name("strip")
	m.castOn(n, "strip", name)
	switch m.int(0, 6, "what") {
	case 5:
		if m.coin("ridges") {
			k := m.graded(3, 12, 2, "ridges")
			m.mark("work "+m.list(k)+" ridges", "")
			m.pass(k.times(2), m.main)
		}
		m.mark("work "+m.list(m.graded(2, 4, 1, "repeats"))+" repeats of 12 rows", "")
	case 6:
		k := int64(0)
		for _, in := range []int64{3, 4, 5, 6, 7} {
			all := true
			for _, x := range n {
				all = all && x%in == 0
			}
			if all {
				k = in
			}
		}
		m.workRows(m.graded(10, 20, 2, "before"), m.main, "")
		if k > 0 {
			m.mark(fmt.Sprintf("%s 1 st in every %d", m.dec, k), "")
			for i := range n {
				m.now.count[i] -= n[i] / k
			}
			m.state("gathered", 1)
		}
	case 0:
		m.workRows(m.same(2), m.main, "")
		k := m.graded(5, 20, 3, "again")
		m.mark("repeat the last 2 rows "+m.again(k), "")
		m.pass(k.times(2), m.main)
	case 1:
		m.workRows(m.graded(30, 60, 4, "strip rows"), m.main, "")
		a := m.graded(3, 4, 0, "turn")
		k := m.same(m.int(3, 5, "turns"))
		m.mark("turn "+m.stitches(a)+" before the end, "+m.timesText(k), "")
		m.pass(k.times(2).add(1), m.main)
		m.workRows(m.same(3), m.main, "")
	case 2:
		r := m.graded(60, 90, 6, "band")
		m.workRows(r, m.rib, "")
		m.mark(fmt.Sprintf("space %d buttonholes over %s", m.int(3, 7, "holes"), m.rowsText(r)), "")
	case 3:
		half := make(nums, m.n)
		for i := range n {
			half[i] = n[i] / 2
		}
		if n.plus(half, -2).zero() {
			part := m.name("half")
			m.workRows(m.same(4), m.main, "")
			m.mark("hold "+m.stitches(half)+" as "+part, ties(name+" / 2"))
			kept := m.now.copy()
			kept.count = half
			m.now.count = half
			m.workRows(m.graded(10, 20, 2, "first half"), m.main, "")
			m.bindOffAll()
			m.mark("resume "+part, "")
			m.now = kept
		}
		m.workRows(m.graded(10, 20, 2, "half"), m.main, "")
	case 4:
		m.mark("work "+m.tape(m.graded(12, 30, 4, "plain length")), "")
	}
	m.bindOffAll()
}

func (m *maker) gauge(st, rows *big.Rat) string {
	over, word := big.NewRat(10, 1), "10 cm"
	if m.inches {
		over, word = big.NewRat(1016, 100), "4 in"
	}
	text := func(x *big.Rat) string { return new(big.Rat).Mul(x, over).RatString() }
	r := "rows"
	if m.coin("gauge of rounds") {
		r = "rounds"
	}
	return text(st) + " sts and " + text(rows) + " " + r + " to " + word
}

func (m *maker) cloth(name string, st, rows int64) cloth {
	over := big.NewRat(10, 1)
	if m.inches {
		over = big.NewRat(1016, 100)
	}
	return cloth{name, new(big.Rat).Quo(big.NewRat(st, 1), over), new(big.Rat).Quo(big.NewRat(rows, 1), over)}
}

// makeDraft draws a sound draft.
func makeDraft(t *rapid.T) *randomDraft {
	m := &maker{t: t}
	m.n = int(m.int(1, 5, "sizes"))
	m.inches = m.coin("inches")
	m.style = rapid.SampledFrom([][3]string{{"(", ", ", ")"}, {"(", ": ", ")"}, {"[", ", ", "]"}}).Draw(t, "style")
	st := m.int(16, 26, "stitches")
	rows := st + m.int(4, 12, "rows")
	m.main = m.cloth("main", st, rows)
	m.rib = m.cloth("rib", st+m.int(0, 3, "rib"), rows+m.int(-2, 4, "rib rows"))
	if m.coin("cable") {
		c := m.cloth("cable", st+m.int(2, 6, "cable"), rows)
		m.cable = &c
	}
	m.sts = m.one("sts", "sts", "sts", "stitches")
	m.cast = rapid.SampledFrom([][2]string{{"cast on", "bind off"}, {"Cast on", "cast off"}, {"CO", "BO"}}).Draw(t, "words")
	m.dec, m.inc = "decrease", "increase"
	if m.coin("short words") {
		m.dec, m.inc = "dec", "inc"
	}
	names := []string{"XS", "S", "M", "L", "XL"}[:m.n]
	m.sizes = names
	m.chest = make(nums, m.n)
	x := m.int(70, 90, "chest")
	for i := range m.chest {
		m.chest[i] = x
		x += m.int(4, 8, "chest grows")
	}
	pieces := int(m.int(1, 2, "pieces"))
	for i := range pieces {
		switch m.int(0, 9, "piece") {
		case 0, 1:
			m.body([]string{"Back", "Front"}[i%2])
		case 8:
			m.sock()
		case 9:
			m.match()
		case 2:
			m.sleeve()
		case 3:
			m.hat()
		case 4:
			m.yoke()
		case 5:
			m.halves()
		case 6:
			m.legs()
		case 7:
			m.scarf()
		}
	}
	var b strings.Builder
	if m.coin("title") {
		b.WriteString("# A Random Piece — à la carte\n\nSome words.\n\n")
	}
	b.WriteString("```draft\n")
	b.WriteString("fabric main: " + m.gauge(m.main.st, m.main.rows) + "\n")
	b.WriteString("fabric rib: " + m.gauge(m.rib.st, m.rib.rows) + "   -- smaller needles\n")
	if m.cable != nil {
		b.WriteString("fabric cable: " + m.gauge(m.cable.st, m.cable.rows) + "\n")
	}
	if m.n > 1 {
		b.WriteString("sizes: " + m.strings(names) + "\n")
	}
	unit := " cm"
	if m.inches {
		unit = " in"
	}
	b.WriteString("chest = " + m.list(m.chest) + unit + "\n")
	for _, x := range m.measures {
		b.WriteString(x + "\n")
	}
	b.WriteString("```\n\n")
	if m.coin("figures") {
		if m.n > 1 {
			b.WriteString("| | {" + m.strings(names) + "} |\n| --- | --- |\n")
		} else {
			b.WriteString("| | all |\n| --- | --- |\n")
		}
		b.WriteString("| To fit | {" + m.list(m.chest) + unit + " \\| chest} |\n| Wool | {" + fmt.Sprint(m.int(20, 60, "wool")*10) + " g} |\n\n")
	}
	b.WriteString(m.text.String())
	if !m.coin("last line end") {
		b.WriteString("\nThat is all")
	} else {
		b.WriteString("\nThat is all.\n")
	}
	src := b.String()
	switch m.int(0, 9, "hostile") {
	case 0:
		src = strings.ReplaceAll(src, "\n", "\r\n")
	case 1:
		src = "\ufeff" + src
	case 2:
		src = strings.ReplaceAll(src, "Then ", "Then\u00a0")
	}
	d := &randomDraft{src: src, sizes: names, names: m.numbers, labels: m.labels}
	if !m.inches {
		d.chest = m.chest
	}
	return d
}

// askedGauge draws a gauge to convert to, near or far.
func askedGauge(t *rapid.T) dsl.Gauge {
	st := int64(rapid.IntRange(10, 38).Draw(t, "asked stitches"))
	return dsl.Gauge{Stitches: big.NewRat(st, 10), Rows: big.NewRat(st+int64(rapid.IntRange(2, 16).Draw(t, "asked rows")), 10)}
}
