package render

import (
	_ "embed"
	"hash/fnv"
	"strconv"
	"strings"
	"unicode"

	"gaugewright/rewrite"
)

//go:embed page.js
var pageJS string

// pageScript is the script of the page, its comments and indents taken out. It only remembers: nothing on the page needs it.
var pageScript = func() string {
	var b strings.Builder
	for line := range strings.Lines(pageJS) {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "//") {
			b.WriteString(line)
		}
	}
	return b.String()
}()

// SizeAnchors are the fragments, without `#`, by which a link opens the page with a size chosen, one a size of the result;
// nil where there is nothing to choose. They hold no blanks; in a link they are to be escaped as any fragment.
func SizeAnchors(c *rewrite.Conversion) []string {
	if len(c.Targets) < 2 {
		return nil
	}
	out := make([]string, len(c.Targets))
	taken := map[string]bool{allSizes: true}
	for i, name := range sizeNames(c) {
		base := "size." + strings.Join(strings.FieldsFunc(name, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '.' }), "-")
		id := base
		for n := 2; taken[id] || id == "size."; n++ {
			id = base + "-" + strconv.Itoa(n)
		}
		taken[id] = true
		out[i] = id
	}
	return out
}

const allSizes = "size.all"

// chooser is where the reader says which size is being made, and how the page is to be read.
func chooser(m *markup, c *rewrite.Conversion) {
	names := sizeNames(c)
	m.raw("<div class=\"choose\">\n")
	if ids := SizeAnchors(c); ids != nil {
		m.raw("<fieldset><legend>Your size</legend>\n<label><input type=\"radio\" name=\"size\" id=\"" + allSizes + "\" checked> All sizes</label>\n")
		for i, id := range ids {
			m.raw(`<label><input type="radio" name="size" class="c`, strconv.Itoa(i+1), `" id="`)
			m.text(id)
			m.raw(`"> `)
			m.text(names[i])
			m.raw("</label>\n")
		}
		m.raw("</fieldset>\n<label class=\"mine\"><input type=\"checkbox\" id=\"only.mine\"> Leave the other sizes out</label>\n")
	}
	m.raw("<label><input type=\"checkbox\" id=\"large.type\"> Larger type</label>\n<button type=\"button\" hidden>Clear the ticks</button>\n</div>\n")
}

// sizeRules is the style sheet for so many sizes: where one is chosen, the others step back; where they are to be left out,
// and on paper, they go. What is for some sizes alone does the same.
func sizeRules(sizes int) string {
	if sizes < 2 {
		return ""
	}
	var away, gone []string
	for k := 1; k <= sizes; k++ {
		n := strconv.Itoa(k)
		chosen := ":root:has(.c" + n + ":checked) "
		away = append(away, chosen+":is(.z:not(.z"+n+"),.z"+n+">i,.o:not(.o"+n+"))")
		gone = append(gone, ":is(.z:not(.z"+n+"),.z"+n+">i,.o:not(.o"+n+"))")
	}
	var b strings.Builder
	b.WriteString(strings.Join(away, ",") + "{color:var(--far);font-size:var(--back,.8em);--new:var(--far);--weight:400;--under:none}")
	write := func(root string) {
		for i, g := range gone {
			if i > 0 {
				b.WriteByte(',')
			}
			b.WriteString(":root" + root + ":has(.c" + strconv.Itoa(i+1) + ":checked) " + g)
		}
		b.WriteString("{display:none}")
	}
	write(":has(#only\\.mine:checked)")
	// On a phone a table of all sizes would hide the chosen one behind its edge.
	b.WriteString("@media (max-width:43.99rem){")
	for k := 1; k <= sizes; k++ {
		n := strconv.Itoa(k)
		b.WriteString(":root:has(.c" + n + ":checked) .sizes .z:not(.z" + n + "){display:none}")
	}
	b.WriteString("}")
	b.WriteString("@media print{")
	write("")
	b.WriteString("}")
	return b.String()
}

// fingerprint tells one copy from another, for what is remembered of it.
func fingerprint(c *rewrite.Conversion) string {
	h := fnv.New64a()
	_, _ = h.Write(c.New)
	for _, t := range c.Targets {
		_, _ = h.Write([]byte("\x00" + t.Name))
	}
	return strconv.FormatUint(h.Sum64(), 36)
}
