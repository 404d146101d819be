package grammar

import (
	"strings"
	"sync"

	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"
)

// The grammars, as participle reads them. They are raw forms: the public tree is made of them afterwards, where it is
// known which parts an instruction may have.

// phraseSyntax is all that stands before the bar: what may come before the verb (`meanwhile`, `in rib`), and an
// instruction; without an instruction, the parts are a statement.
type phraseSyntax struct {
	Before []*partSyntax      `parser:"@@*"`
	Do     *instructionSyntax `parser:"@@?"`
}

// instructionSyntax is a verb and its parts in any order. Which parts a verb may have is asked afterwards.
type instructionSyntax struct {
	Verb  lexer.Token   `parser:"@Verb"`
	Parts []*partSyntax `parser:"@@*"`
}

// partSyntax is one part of an instruction. Each alternative begins with a token type of its own, so that none is
// tried in vain for longer than one token; the cheap ones come first.
type partSyntax struct {
	Joint    lexer.Token     `parser:"  @Joint"`
	Flag     lexer.Token     `parser:"| @Flag"`
	Quantity *quantitySyntax `parser:"| @@"`
	Interval *intervalSyntax `parser:"| @@"`
	Relation *relationSyntax `parser:"| @@"`
	More     lexer.Token     `parser:"| @More"`
	Name     lexer.Token     `parser:"| @Name"`
	Unit     lexer.Token     `parser:"| @Unit"`
}

// quantitySyntax is a number or one a size, with its unit, `more` and `times`: `98 (106, 114) sts`, `5 more times`,
// `38 cm [15 in]`; a layout written size by size has sums in the brackets.
type quantitySyntax struct {
	Nums   []lexer.Token `parser:"@(Num (Open Num (Plus Num)* (Sep Num (Plus Num)*)* Close)*)"`
	Tail   []lexer.Token `parser:"@((Unit | More)*)"`
	Second *secondSyntax `parser:"@@?"`
}

// secondSyntax is the same length in the other unit: `[15 in]`, `(15 (15½, 16) in)`, `/ 15 in`.
type secondSyntax struct {
	Open  lexer.Token   `parser:"@Open"`
	Nums  []lexer.Token `parser:"@(Num (Open Num (Sep Num)* Close)*)"`
	Unit  lexer.Token   `parser:"@Unit"`
	Close lexer.Token   `parser:"@Close?"`
}

// intervalSyntax says which rows: `every 4th (4th, 2nd) row`, `the next 2 rows`, `foll 6 alt rows`, `every RS row`,
// `the last 2 rows`.
type intervalSyntax struct {
	Head []lexer.Token `parser:"@(When+)"`
	Nums []lexer.Token `parser:"@(Num (Open Num (Sep Num)* Close)*)?"`
	How  []lexer.Token `parser:"@((When | More)*)"`
	Unit lexer.Token   `parser:"@Unit?"`
}

// relationSyntax is a small word with what it governs: `until 78 sts remain`, `from underarm`, `in rib`, `as left front`.
type relationSyntax struct {
	Rel      lexer.Token     `parser:"@Rel"`
	Quantity *quantitySyntax `parser:"( @@"`
	Name     lexer.Token     `parser:"| @Name )?"`
}

// tiesSyntax is what stands after the bar.
type tiesSyntax struct {
	Ties []*tieSyntax `parser:"@@ (Comma @@)*"`
}

type tieSyntax struct {
	As       *asSyntax       `parser:"  @@"`
	Fixed    lexer.Token     `parser:"| @'fixed'"`
	Parity   lexer.Token     `parser:"| @('even' | 'odd')"`
	Multiple *multipleSyntax `parser:"| @@"`
	Rounded  []lexer.Token   `parser:"| @('rounded' ('up' | 'down'))"`
	Reading  *saidSyntax     `parser:"| @@"`
	Expr     *sumSyntax      `parser:"| @@"`
}

// saidSyntax says how words are meant that leave it open: `taken up here`, `from underarm`, `on 3 needles`,
// `after 2 rows with 8 sts more`.
type saidSyntax struct {
	Said lexer.Token   `parser:"@Said"`
	Nums []lexer.Token `parser:"@(Num Num?)?"`
	Name lexer.Token   `parser:"@Name?"`
}

type asSyntax struct {
	As   lexer.Token `parser:"@'as'"`
	Name lexer.Token `parser:"@Name"`
}

type multipleSyntax struct {
	Word []lexer.Token `parser:"@('multiple' 'of'?)"`
	Of   lexer.Token   `parser:"@Num Unit?"`
	Sign lexer.Token   `parser:"( @(Plus | Minus)"`
	Plus lexer.Token   `parser:"  @Num Unit? )?"`
	End  lexer.Token   `parser:"@Unit?"`
}

type sumSyntax struct {
	First *productSyntax `parser:"@@"`
	Rest  []*addSyntax   `parser:"@@*"`
}

type addSyntax struct {
	Op lexer.Token    `parser:"@(Plus | Minus)"`
	X  *productSyntax `parser:"@@"`
}

type productSyntax struct {
	First *factorSyntax `parser:"@@"`
	Rest  []*mulSyntax  `parser:"@@*"`
}

type mulSyntax struct {
	Op lexer.Token   `parser:"@(Star | Slash)"`
	X  *factorSyntax `parser:"@@"`
}

type factorSyntax struct {
	Minus  []lexer.Token  `parser:"@(Minus*)"`
	Lit    *literalSyntax `parser:"(  @@"`
	Name   lexer.Token    `parser:" | @Name"`
	Group  *groupSyntax   `parser:" | @@"`
	Choice *choiceSyntax  `parser:" | @@ )"`
	In     *inSyntax      `parser:"@@?"`
}

type literalSyntax struct {
	Nums []lexer.Token `parser:"@(Num (Open Num (Sep Num)* Close)*)"`
	Unit lexer.Token   `parser:"@(Unit | Percent)?"`
}

type groupSyntax struct {
	Open  lexer.Token `parser:"@ParenOpen"`
	X     *sumSyntax  `parser:"@@"`
	Close lexer.Token `parser:"@ParenClose"`
}

type choiceSyntax struct {
	Which lexer.Token  `parser:"@('smaller' | 'larger')"`
	Of    lexer.Token  `parser:"@'of'"`
	First *sumSyntax   `parser:"@@"`
	More  []*sumSyntax `parser:"(Comma @@)*"`
	Last  *sumSyntax   `parser:"Comma? 'and' @@"`
}

type inSyntax struct {
	In   lexer.Token `parser:"@'in'"`
	Name lexer.Token `parser:"@Name"`
}

// Statements of blocks, dispatched on how they begin.

type measureSyntax struct {
	Name   lexer.Token `parser:"@Name"`
	Equals lexer.Token `parser:"@Equals"`
	Expr   *sumSyntax  `parser:"@@"`
}

type gaugeSyntax struct {
	Stitches *literalSyntax `parser:"@@"`
	Rows     *literalSyntax `parser:"(('and' | Comma | Slash | 'by' | 'x' | Star)? @@)?"`
	To       lexer.Token    `parser:"@('to' | 'over' | 'in' | 'per' | 'for' | 'make' | 'measure' | Equals | Slash)?"`
	Over     *literalSyntax `parser:"@@"`
}

type sizesSyntax struct {
	Names []*sizeNameSyntax `parser:"@@+"`
}

type sizeNameSyntax struct {
	Mark lexer.Token `parser:"(  @(Open | Close | Sep | Comma | ParenOpen | ParenClose | Colon)"`
	Name lexer.Token `parser:" | @Name )"`
}

type readingSyntax struct {
	Count *literalSyntax   `parser:"@@"`
	Over  lexer.Token      `parser:"@('over' | 'to' | 'in' | 'measure' | Equals)"`
	First *literalSyntax   `parser:"@@"`
	More  []*literalSyntax `parser:"(Comma @@)*"`
}

var phraseLexer, exprLexer = definition{lexPhrase}, definition{lexExpr}

func formOf[G any](d definition) *form[G] {
	return &form[G]{parser: sync.OnceValue(func() *participle.Parser[G] {
		return participle.MustBuild[G](participle.Lexer(d), participle.UseLookahead(1))
	})}
}

var (
	phraseForm = formOf[phraseSyntax](phraseLexer)
	verbForm   = &form[instructionSyntax]{parser: sync.OnceValue(func() *participle.Parser[instructionSyntax] {
		p, err := participle.ParserForProduction[instructionSyntax](phraseForm.parser())
		if err != nil {
			panic(err) // the grammar holds the production
		}
		return p
	})}
	tiesForm    = formOf[tiesSyntax](exprLexer)
	measureForm = formOf[measureSyntax](exprLexer)
	gaugeForm   = formOf[gaugeSyntax](exprLexer)
	sizesForm   = formOf[sizesSyntax](exprLexer)
	readingForm = formOf[readingSyntax](exprLexer)
	literalForm = formOf[literalSyntax](exprLexer)
)

// form is one of the grammars, with the trees that participle has made by it. A grammar asks no more of tokens than their
// types, and of keywords their spelling, and a tree points at tokens by their place alone: phrases of the same types of
// tokens have the same tree. Drafts say the same things with other numbers over and over, and participle takes far longer
// over a phrase than all else that is done with it, so each tree is made once, and kept while the program runs. Trees are
// never changed.
type form[G any] struct {
	parser func() *participle.Parser[G]
	mu     sync.RWMutex
	trees  map[string]parsed[G]
}

// parsed is a tree, or nil and the place of the token that the grammar did not expect.
type parsed[G any] struct {
	tree *G
	at   int
}

// Trees that are kept are bounded in number and in size, whatever is read.
const (
	maxTrees      = 1 << 12
	maxTreeTokens = 1 << 6
)

// parse gives the tree of ready tokens. The place of an error is the index of the token it stands on.
func (f *form[G]) parse(t *tokens) (g *G, at int, ok bool) {
	t.gather()
	var buf [4 * maxTreeTokens]byte
	types := t.types(buf[:0])
	f.mu.RLock()
	p, known := f.trees[string(types)]
	f.mu.RUnlock()
	if !known {
		p = f.parseAfresh(t)
		f.keep(types, len(t.starts), p)
	}
	if p.at < len(t.starts) {
		at = t.starts[p.at]
	} else {
		at = len(t.list)
	}
	return p.tree, at, p.tree != nil
}

func (f *form[G]) keep(types []byte, size int, p parsed[G]) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if size > maxTreeTokens || len(f.trees) >= maxTrees {
		return
	}
	if f.trees == nil {
		f.trees = map[string]parsed[G]{}
	}
	f.trees[string(types)] = p
}

// parseAfresh has participle read the tokens.
func (f *form[G]) parseAfresh(t *tokens) parsed[G] {
	peek, err := lexer.Upgrade(t)
	if err != nil {
		return parsed[G]{}
	}
	g, err := f.parser().ParseFromLexer(peek)
	if err == nil {
		return parsed[G]{tree: g}
	}
	if e, is := err.(participle.Error); is {
		return parsed[G]{at: e.Position().Column - 1}
	}
	return parsed[G]{at: len(t.starts)}
}

func (f *form[G]) String() string { return f.parser().String() }

// Grammar is the grammar of marked instructions, of ties and of the statements in blocks, in EBNF. Token names stand in
// angle brackets: a `<verb>`, a `<flag>` or a `<rel>` is any of the trade's spellings of one, a `<name>` is a name of one
// or more words, a `<num>` a number in any spelling.
func Grammar() string {
	var b strings.Builder
	seen := map[string]bool{}
	for _, part := range []struct{ title, text string }{
		{"what stands before the bar", phraseForm.String()},
		{"ties, after the bar", tiesForm.String()},
		{"statements in blocks", strings.Join([]string{measureForm.String(), gaugeForm.String(), sizesForm.String(), readingForm.String()}, "\n")},
	} {
		if b.Len() > 0 {
			b.WriteByte('\n')
		}
		b.WriteString("-- " + part.title + "\n")
		for _, line := range strings.Split(part.text, "\n") {
			// the private forms' names are the grammar's, but for their ending
			if line = strings.ReplaceAll(line, "Syntax", ""); !seen[line] {
				seen[line] = true
				b.WriteString(line + "\n")
			}
		}
	}
	return b.String()
}
