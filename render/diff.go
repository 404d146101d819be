package render

import (
	"bytes"
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"

	"gaugewright/rewrite"
	"gaugewright/rewrite/mark"
)

const contextLines = 3

// change replaces the lines [from, to) of the old text by other lines.
type change struct {
	from, to int
	lines    []string
}

// Diff is the unified diff from the draft to the new draft, with three lines of context, such as `patch` applies. It is
// empty where nothing changed. It is built from the conversion's own edits and so costs no comparison; lines end with a
// line feed, a carriage return before it being part of the line.
func Diff(c *rewrite.Conversion, oldName, newName string) []byte {
	return unified(c.Draft.File.Src, c.New, c.Edits, oldName, newName)
}

// MarkingDiff is the unified diff from a plain text to the marked one: nothing but what was put in.
func MarkingDiff(m *mark.Marking, oldName, newName string) []byte {
	var edits []rewrite.Edit
	for _, x := range m.Inserted {
		edits = append(edits, rewrite.Edit{Start: x.At, End: x.At, New: x.Text})
	}
	return unified(m.Old, m.New, edits, oldName, newName)
}

func unified(src, now []byte, edits []rewrite.Edit, oldName, newName string) []byte {
	if bytes.Equal(src, now) {
		return nil
	}
	old := string(src)
	was := lines(old)
	var b bytes.Buffer
	b.Grow(512 + len(now) + len(now)/2)
	b.WriteString("--- " + fileName(oldName) + "\n+++ " + fileName(newName) + "\n")
	hunks(&b, was, changes(was, old, now, edits))
	return b.Bytes()
}

// changes turns edits into changes of whole lines. Edits that do not lead to now (there are none from a conversion) are
// not used: then everything between the first and the last line that differ is one change.
func changes(was []string, old string, now []byte, edits []rewrite.Edit) []change {
	inOrder := func(a, b rewrite.Edit) int { return a.Start - b.Start }
	if !slices.IsSortedFunc(edits, inOrder) {
		edits = slices.Clone(edits)
		slices.SortStableFunc(edits, inOrder)
	}
	if !leadsTo(old, now, edits) {
		return trimmed([]change{{0, len(was), lines(string(now))}}, was)
	}
	starts := make([]int, len(was)+1)
	for i, l := range was {
		starts[i+1] = starts[i] + len(l)
	}
	lineOf := func(off int) int {
		i := sort.SearchInts(starts, off+1) - 1
		return max(0, min(i, len(was)-1))
	}
	out := make([]change, 0, len(edits))
	var text bytes.Buffer
	for i := 0; i < len(edits); {
		from := lineOf(edits[i].Start)
		to := from
		text.Reset()
		at := starts[from]
		for i < len(edits) && (lineOf(edits[i].Start) <= to) {
			e := edits[i]
			text.WriteString(old[at:e.Start])
			text.WriteString(e.New)
			at = e.End
			to = max(to, lineOf(e.End))
			i++
		}
		end := min(to+1, len(was))
		text.WriteString(old[at:starts[end]])
		out = append(out, change{from, end, lines(text.String())})
		if len(was) == 0 {
			break
		}
	}
	// A change that takes away its last line end runs on into the next line.
	for i := len(out) - 1; i >= 0; i-- {
		n := len(out[i].lines)
		open := n > 0 && !strings.HasSuffix(out[i].lines[n-1], "\n")
		if !open || out[i].to >= len(was) {
			continue
		}
		if i+1 < len(out) && out[i+1].from == out[i].to {
			tail := strings.Join(out[i+1].lines, "")
			out[i].lines = append(out[i].lines[:n-1], lines(out[i].lines[n-1]+tail)...)
			out[i].to = out[i+1].to
			out = append(out[:i+1], out[i+2:]...)
			i++ // it may be open again
			continue
		}
		out[i].lines[n-1] += was[out[i].to]
		out[i].to++
	}
	return trimmed(out, was)
}

func leadsTo(old string, now []byte, edits []rewrite.Edit) bool {
	at := 0
	for _, e := range edits {
		if e.Start < at || e.End < e.Start || e.End > len(old) {
			return false
		}
		for _, s := range [2]string{old[at:e.Start], e.New} {
			if len(now) < len(s) || string(now[:len(s)]) != s {
				return false
			}
			now = now[len(s):]
		}
		at = e.End
	}
	return string(now) == old[at:]
}

// trimmed drops the lines that a change has in common with the old text at its ends and changes that change nothing, and puts together
// those that touch.
func trimmed(cs []change, was []string) []change {
	out := cs[:0]
	for _, c := range cs {
		for c.from < c.to && len(c.lines) > 0 && was[c.from] == c.lines[0] {
			c.from++
			c.lines = c.lines[1:]
		}
		for c.from < c.to && len(c.lines) > 0 && was[c.to-1] == c.lines[len(c.lines)-1] {
			c.to--
			c.lines = c.lines[:len(c.lines)-1]
		}
		switch n := len(out); {
		case c.from == c.to && len(c.lines) == 0:
		case n > 0 && out[n-1].to == c.from:
			out[n-1].to = c.to
			out[n-1].lines = append(out[n-1].lines, c.lines...)
		default:
			out = append(out, c)
		}
	}
	return out
}

func hunks(b *bytes.Buffer, was []string, cs []change) {
	shift := 0 // lines gained so far
	for i := 0; i < len(cs); {
		j := i + 1
		for j < len(cs) && cs[j].from-cs[j-1].to <= 2*contextLines {
			j++
		}
		from := max(0, cs[i].from-contextLines)
		to := min(len(was), cs[j-1].to+contextLines)
		gained := 0
		for _, c := range cs[i:j] {
			gained += len(c.lines) - (c.to - c.from)
		}
		b.WriteString("@@ -")
		lineRange(b, from, to-from)
		b.WriteString(" +")
		lineRange(b, from+shift, to-from+gained)
		b.WriteString(" @@\n")
		at := from
		for _, c := range cs[i:j] {
			put(b, ' ', was[at:c.from])
			put(b, '-', was[c.from:c.to])
			put(b, '+', c.lines)
			at = c.to
		}
		put(b, ' ', was[at:to])
		shift += gained
		i = j
	}
}

func lineRange(b *bytes.Buffer, from, n int) {
	if n > 0 {
		from++
	}
	b.Write(strconv.AppendInt(b.AvailableBuffer(), int64(from), 10))
	if n != 1 {
		b.WriteByte(',')
		b.Write(strconv.AppendInt(b.AvailableBuffer(), int64(n), 10))
	}
}

func put(b *bytes.Buffer, sign byte, ls []string) {
	for _, l := range ls {
		b.WriteByte(sign)
		b.WriteString(l)
		if !strings.HasSuffix(l, "\n") {
			b.WriteString("\n\\ No newline at end of file\n")
		}
	}
}

// fileName is a name as the head of a diff may have it: one with blanks ends with a tab, one with quotes or control
// characters is quoted.
func fileName(s string) string {
	for i := 0; i < len(s); i++ {
		if s[i] < ' ' || s[i] == '"' || s[i] == '\\' || s[i] == 0x7f {
			var b strings.Builder
			b.WriteByte('"')
			for i := 0; i < len(s); i++ {
				switch c := s[i]; {
				case c == '"' || c == '\\':
					b.WriteByte('\\')
					b.WriteByte(c)
				case c < ' ' || c == 0x7f:
					fmt.Fprintf(&b, `\%03o`, c)
				default:
					b.WriteByte(c)
				}
			}
			b.WriteByte('"')
			return b.String()
		}
	}
	if strings.ContainsRune(s, ' ') {
		return s + "\t"
	}
	return s
}
