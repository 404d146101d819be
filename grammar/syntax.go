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
	Expr     *sumSyntax      `parser:"| @@"`
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

func build[G any](d definition) func() *participle.Parser[G] {
	return sync.OnceValue(func() *participle.Parser[G] {
		return participle.MustBuild[G](participle.Lexer(d), participle.UseLookahead(1))
	})
}

var (
	phraseParser = build[phraseSyntax](phraseLexer)
	verbParser   = sync.OnceValue(func() *participle.Parser[instructionSyntax] {
		p, err := participle.ParserForProduction[instructionSyntax](phraseParser())
		if err != nil {
			panic(err) // the grammar holds the production
		}
		return p
	})
	tiesParser    = build[tiesSyntax](exprLexer)
	measureParser = build[measureSyntax](exprLexer)
	gaugeParser   = build[gaugeSyntax](exprLexer)
	sizesParser   = build[sizesSyntax](exprLexer)
	readingParser = build[readingSyntax](exprLexer)
	literalParser = build[literalSyntax](exprLexer)
	asParser      = build[asSyntax](exprLexer)
)

// treeKey is all that a grammar asks of tokens: their kinds, and of keywords their spelling.
type treeKey struct {
	grammar any // the parser
	kinds   string
}

// forest holds what participle made of tokens. Its trees point at tokens by their place alone, so phrases of the same
// kinds of tokens share one: a draft says the same thing with other numbers more often than not. Trees are never changed.
type forest struct {
	trees map[treeKey]parsed
	key   []byte
}

// parsed is a tree, or the index of the token that the grammar did not expect.
type parsed struct {
	tree any
	at   int
	ok   bool
}

// parseTokens gives the tree that one grammar makes of ready tokens. The place of an error is the index of the token it
// stands on.
func parseTokens[G any](p *participle.Parser[G], t *tokens) (g *G, at int, ok bool) {
	t.gather()
	f := t.forest
	f.key = t.kinds(f.key[:0])
	found, known := f.trees[treeKey{p, string(f.key)}]
	if !known {
		g, at, ok := parseAfresh(p, t)
		found = parsed{g, at, ok}
		f.trees[treeKey{p, string(f.key)}] = found
	}
	at = len(t.list)
	if found.at < len(t.starts) {
		at = t.starts[found.at]
	}
	return found.tree.(*G), at, found.ok
}

// parseAfresh has participle read the tokens. The place of an error is the index of the token that the grammar saw.
func parseAfresh[G any](p *participle.Parser[G], t *tokens) (g *G, at int, ok bool) {
	peek, err := lexer.Upgrade(t)
	if err != nil {
		return nil, 0, false
	}
	g, err = p.ParseFromLexer(peek)
	if err != nil {
		at = len(t.starts)
		if e, is := err.(participle.Error); is {
			at = e.Position().Column - 1
		}
		return nil, at, false
	}
	return g, 0, true
}

// Grammar is the grammar of marked instructions, of ties and of the statements in blocks, in EBNF. Token names stand in
// angle brackets: a `<verb>`, a `<flag>` or a `<rel>` is any of the trade's spellings of one, a `<name>` is a name of one
// or more words, a `<num>` a number in any spelling.
func Grammar() string {
	var b strings.Builder
	seen := map[string]bool{}
	for _, part := range []struct{ title, text string }{
		{"what stands before the bar", phraseParser().String()},
		{"ties, after the bar", tiesParser().String()},
		{"statements in blocks", strings.Join([]string{measureParser().String(), gaugeParser().String(), sizesParser().String(), readingParser().String()}, "\n")},
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
