package render

// run is a run of words in a comparison of two sentences.
type run struct {
	text string
	is   where
}

// where says which of two sentences a run of words stands in.
type where uint8

const (
	both where = iota
	gone       // in the old one alone
	come       // in the new one alone
)

// The most words of a sentence that are compared; a longer one is shown whole, old and new.
const maxWords = 2000

// As many words as a long sentence has, blanks and signs counted.
const usual = 128

// wordDiffer compares sentences by whole words and numbers, each one symbol, so that 112 never half becomes 128. Its
// memory serves one comparison after another.
type wordDiffer struct {
	symbols  map[string]int32
	old, new sentence
	steps    []step
	spare    []step
	fore     reach
	back     reach
	out      []run
}

// step is a number of words that went, came or stayed. Which they are follows from the steps before it.
type step struct {
	is where
	n  int
}

// sentence is text cut into words: the symbol of each, and where each ends.
type sentence struct {
	text    string
	symbols []int32
	ends    []int
}

// upTo is the text from an offset to the end of the word at i-1, and that end.
func (s *sentence) upTo(from, i int) (string, int) {
	end := 0
	if i > 0 {
		end = s.ends[i-1]
	}
	return s.text[from:end], end
}

func (d *wordDiffer) read(s *sentence, text string) {
	s.text, s.symbols, s.ends = text, s.symbols[:0], s.ends[:0]
	for from := 0; from < len(text); {
		end := from + token(text[from:])
		r, ok := d.symbols[text[from:end]]
		if !ok {
			r = int32(len(d.symbols))
			d.symbols[text[from:end]] = r
		}
		s.symbols, s.ends = append(s.symbols, r), append(s.ends, end)
		from = end
	}
}

// diff is the words that went, came and stayed, in the order of the sentences; what went stands before what came. It
// holds until the next call. It is a shortest answer, found as in Eugene W. Myers, An O(ND) Difference Algorithm and Its
// Variations, Algorithmica 1 (1986), section 4b: the middle of a shortest path, then each half for itself.
func (d *wordDiffer) diff(was, now string) []run {
	if d.symbols == nil {
		d.symbols = make(map[string]int32, usual)
		for _, s := range [2]*sentence{&d.old, &d.new} {
			s.symbols, s.ends = make([]int32, 0, usual), make([]int, 0, usual)
		}
	}
	clear(d.symbols)
	d.read(&d.old, was)
	d.read(&d.new, now)
	d.out, d.steps = d.out[:0], d.steps[:0]
	x, y := d.old.symbols, d.new.symbols
	if len(x) > maxWords || len(y) > maxWords {
		return append(d.out, run{was, gone}, run{now, come})
	}
	d.compare(x, y)
	i, j, from, to := 0, 0, 0, 0 // how far each sentence is told, in words and in bytes
	for _, s := range d.steps {
		var text string
		if s.is != come {
			i += s.n
			text, from = d.old.upTo(from, i)
		}
		if s.is != gone {
			j += s.n
			text, to = d.new.upTo(to, j)
		}
		if text != "" {
			d.out = append(d.out, run{text, s.is})
		}
	}
	return d.out
}

func (d *wordDiffer) add(is where, n int) { d.steps = append(d.steps, step{is, n}) }

// compare adds the steps from x to y.
func (d *wordDiffer) compare(x, y []int32) {
	first := len(d.steps)
	wholeX, wholeY := x, y
	head := alike(x, y)
	x, y = x[head:], y[head:]
	tail := alikeAtEnd(x, y)
	x, y = x[:len(x)-tail], y[:len(y)-tail]
	if head > 0 {
		d.add(both, head)
	}
	d.middle(x, y)
	if tail > 0 {
		d.add(both, tail)
	}
	d.tidy(first, wholeX, wholeY)
}

// middle adds the steps between two lists of words that begin differently and end differently.
func (d *wordDiffer) middle(x, y []int32) {
	switch {
	case len(x) == 0 && len(y) == 0:
		return
	case len(x) == 0:
		d.add(come, len(y))
		return
	case len(y) == 0:
		d.add(gone, len(x))
		return
	}
	long, short, is := y, x, come
	if len(x) > len(y) {
		long, short, is = x, y, gone
	}
	for i := 0; i+len(short) <= len(long); i++ {
		if long[i] == short[0] && alike(long[i:], short) == len(short) {
			d.add(is, i)
			d.add(both, len(short))
			d.add(is, len(long)-i-len(short))
			return
		}
	}
	if i, j, ok := d.meeting(x, y); ok && len(short) > 1 && i+j > 0 && i+j < len(x)+len(y) {
		d.compare(x[:i], y[:j])
		d.compare(x[i:], y[j:])
		return
	}
	d.add(gone, len(x))
	d.add(come, len(y))
}

// reach is how far paths of so many changes get: on each diagonal the words of the old sentence that are behind. Diagonals
// below low or above high have left the sentences.
type reach struct {
	at        []int
	low, high int
}

const unreached = -1

func (r *reach) reset(size int) {
	if cap(r.at) < size {
		r.at = make([]int, 2*size)
	}
	r.at, r.low, r.high = r.at[:size], 0, 0
	for i := range r.at {
		r.at[i] = unreached
	}
}

// meeting is where the paths of fewest changes from both ends meet; ok is false where nothing is in both lists.
func (d *wordDiffer) meeting(x, y []int32) (i, j int, ok bool) {
	most := (len(x) + len(y) + 1) / 2
	zero := most // the index of the diagonal that a path begins on
	d.fore.reset(2*most + 2)
	d.back.reset(2*most + 2)
	d.fore.at[zero+1], d.back.at[zero+1] = 0, 0
	delta := len(x) - len(y)
	odd := delta%2 != 0
	for changes := range most {
		for _, r := range [2]*reach{&d.fore, &d.back} {
			forward := r == &d.fore
			other := &d.back
			if !forward {
				other = &d.fore
			}
			at := r.at[:2*most+2]
			for k := r.low - changes; k <= changes-r.high; k += 2 {
				var i int
				if k == -changes || k != changes && at[zero+k-1] < at[zero+k+1] {
					i = at[zero+k+1]
				} else {
					i = at[zero+k-1] + 1
				}
				j := i - k
				if forward {
					for i < len(x) && uint(j) < uint(len(y)) && x[i] == y[j] {
						i, j = i+1, j+1
					}
				} else {
					for i < len(x) && uint(j) < uint(len(y)) && x[len(x)-1-i] == y[len(y)-1-j] {
						i, j = i+1, j+1
					}
				}
				at[zero+k] = i
				switch {
				case i > len(x):
					r.high += 2
				case j > len(y):
					r.low += 2
				case forward == odd:
					// The same diagonal as it counts from the other end.
					o := zero + delta - k
					if j < 0 || o < 0 || o >= len(other.at) || other.at[o] == unreached || i+other.at[o] < len(x) {
						continue
					}
					if !forward {
						i = other.at[o]
						j = i - (o - zero)
					}
					return i, j, true
				}
			}
		}
	}
	return 0, 0, false
}

// tidy puts steps of a kind together, what went before what came, and moves a change over words that may as well stand on
// its other side where two changes become one by it. The steps from first on lead from x to y.
func (d *wordDiffer) tidy(first int, x, y []int32) {
	for again := true; again; {
		d.gather(first, x, y)
		again = d.shift(first, x, y)
	}
}

// gather puts the changes between two stretches that stayed together.
func (d *wordDiffer) gather(first int, x, y []int32) {
	in := append(d.spare[:0], d.steps[first:]...)
	in = append(in, step{both, 0}) // ends the last change
	d.spare = in
	d.steps = d.steps[:first]
	i, j := 0, 0 // words behind
	for at := 0; at < len(in); {
		went, came := 0, 0
		hasGone, hasCome := false, false
		for ; in[at].is != both; at++ {
			if in[at].is == gone {
				went, hasGone = went+in[at].n, true
			} else {
				came, hasCome = came+in[at].n, true
			}
		}
		stay := in[at].n
		at++
		head, tail := 0, 0
		if hasGone && hasCome {
			head = alike(x[i:i+went], y[j:j+came])
			tail = alikeAtEnd(x[i+head:i+went], y[j+head:j+came])
		}
		d.stayed(first, head)
		i, j = i+went+stay, j+came+stay
		if hasGone {
			d.add(gone, went-head-tail)
		}
		if hasCome {
			d.add(come, came-head-tail)
		}
		d.stayed(first, tail+stay)
	}
}

// stayed adds words that stayed to those before them.
func (d *wordDiffer) stayed(first, n int) {
	switch last := len(d.steps) - 1; {
	case n == 0:
	case last >= first && d.steps[last].is == both:
		d.steps[last].n += n
	default:
		d.add(both, n)
	}
}

// shift moves single changes over a whole stretch beside them, where it may as well stand on their other side.
func (d *wordDiffer) shift(first int, x, y []int32) (moved bool) {
	s := d.steps[first:]
	i, j := 0, 0 // words before s[at-1]
	for at := 1; at < len(s)-1; at++ {
		before, change, after := &s[at-1], s[at], &s[at+1]
		if before.is == both && after.is == both && change.is != both {
			words := x[i:] // those of the three steps
			if change.is == come {
				words = y[j:]
			}
			words = words[:before.n+change.n+after.n]
			changed := words[before.n:]
			switch {
			case change.n >= before.n && alike(words[:before.n], words[change.n:]) == before.n:
				after.n += before.n
				s = append(s[:at-1], s[at:]...)
				moved = true
				// Now the change stands at at-1 and what stays at at.
				i, j = behind(change, i, j)
				continue
			case change.n >= after.n && alike(changed[:after.n], changed[change.n:]) == after.n:
				before.n += after.n
				s = append(s[:at+1], s[at+2:]...)
				moved = true
			}
		}
		i, j = behind(s[at-1], i, j)
	}
	d.steps = d.steps[:first+len(s)]
	return moved
}

// behind is how many words are behind after a step.
func behind(s step, i, j int) (int, int) {
	if s.is != come {
		i += s.n
	}
	if s.is != gone {
		j += s.n
	}
	return i, j
}

// alike is how many words are the same at the beginning of both.
func alike(x, y []int32) int {
	n := min(len(x), len(y))
	for i := range n {
		if x[i] != y[i] {
			return i
		}
	}
	return n
}

// alikeAtEnd is how many words are the same at the end of both.
func alikeAtEnd(x, y []int32) int {
	n := min(len(x), len(y))
	for i := range n {
		if x[len(x)-1-i] != y[len(y)-1-i] {
			return i
		}
	}
	return n
}

// token is the length of the first word of s, which is not empty: a word or number with what is written onto it, a single
// sign, or blanks.
func token(s string) int {
	first := 0
	for i, r := range s {
		kind := 2
		switch r {
		case ' ', '\t', '\u00a0':
			kind = 1
		case '(', ')', '[', ']', ',', ':', ';', '+', '*', '/':
			kind = 3
		}
		if i > 0 && (kind != first || kind == 3) {
			return i
		}
		first = kind
	}
	return len(s)
}
