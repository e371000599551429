package tex

import "strings"

// class is how a piece behaves beside its neighbours, as in chapter 17 of The
// TeXbook.
type class int

const (
	ordinary class = iota
	upright        // an ordinary symbol that is not slanted
	large          // a sum or product, with limits
	integral       // a large operator whose limits stand beside it
	function       // sin
	limit          // lim, whose subscript stands below
	binary
	relation
	opens
	closes
	punct
	gap // a space: neighbours look through it
)

type symbol struct {
	text  string
	class class
}

// symbols holds the commands that stand for one symbol.
var symbols = symbolTable(map[class]string{
	ordinary: `alpha α beta β gamma γ delta δ epsilon ϵ varepsilon ε zeta ζ eta η theta θ
		vartheta ϑ iota ι kappa κ varkappa ϰ lambda λ mu μ nu ν xi ξ omicron ο pi π varpi ϖ
		rho ρ varrho ϱ sigma σ varsigma ς tau τ upsilon υ phi ϕ varphi φ chi χ psi ψ omega ω
		partial ∂ ell ℓ hbar ℏ imath ı jmath ȷ wp ℘`,
	upright: `Gamma Γ Delta Δ Theta Θ Lambda Λ Xi Ξ Pi Π Sigma Σ Upsilon Υ Phi Φ Psi Ψ Omega Ω
		infty ∞ nabla ∇ emptyset ∅ varnothing ∅ forall ∀ exists ∃ nexists ∄ Re ℜ Im ℑ aleph ℵ
		angle ∠ measuredangle ∡ triangle △ degree ° textdegree ° top ⊤ bot ⊥ Box □ square □
		checkmark ✓ dagger † ddagger ‡ neg ¬ lnot ¬ AA Å S § % % $ $ # # & & _ _
		dots … ldots … cdots ⋯ vdots ⋮ ddots ⋱ prime ′ micro µ textmu µ ohm Ω`,
	large:    `sum ∑ prod ∏ coprod ∐ bigcup ⋃ bigcap ⋂ bigoplus ⨁ bigotimes ⨂ bigvee ⋁ bigwedge ⋀`,
	integral: `int ∫ iint ∬ iiint ∭ oint ∮ oiint ∯`,
	binary: `pm ± mp ∓ times × div ÷ cdot ⋅ ast ∗ star ⋆ circ ∘ bullet ∙ cap ∩ cup ∪ vee ∨ lor ∨
		wedge ∧ land ∧ oplus ⊕ ominus ⊖ otimes ⊗ odot ⊙ setminus ∖ amalg ⨿ diamond ⋄`,
	relation: `le ≤ leq ≤ ge ≥ geq ≥ leqslant ⩽ geqslant ⩾ ll ≪ gg ≫ ne ≠ neq ≠ equiv ≡
		approx ≈ approxeq ≊ sim ∼ simeq ≃ cong ≅ propto ∝ lesssim ≲ gtrsim ≳ lt < gt >
		doteq ≐ triangleq ≜ coloneqq ≔ in ∈ ni ∋ notin ∉ subset ⊂ supset ⊃ subseteq ⊆
		supseteq ⊇ perp ⊥ parallel ∥ mid ∣ nmid ∤ prec ≺ succ ≻ vdash ⊢ models ⊨ asymp ≍
		to → rightarrow → leftarrow ← gets ← leftrightarrow ↔ longrightarrow ⟶
		longleftarrow ⟵ Rightarrow ⇒ Leftarrow ⇐ Leftrightarrow ⇔ Longrightarrow ⟹
		implies ⟹ iff ⟺ mapsto ↦ uparrow ↑ downarrow ↓ updownarrow ↕ Uparrow ⇑ Downarrow ⇓
		nearrow ↗ searrow ↘ swarrow ↙ nwarrow ↖ rightleftharpoons ⇌ hookrightarrow ↪
		therefore ∴ because ∵`,
	punct:  `colon :`,
	opens:  `{ { lbrace { lbrack [ langle ⟨ lfloor ⌊ lceil ⌈ lvert | lVert ‖`,
	closes: `} } rbrace } rbrack ] rangle ⟩ rfloor ⌋ rceil ⌉ rvert | rVert ‖`,
	function: `sin sin cos cos tan tan cot cot sec sec csc csc arcsin arcsin arccos arccos
		arctan arctan sinh sinh cosh cosh tanh tanh coth coth ln ln log log lg lg exp exp arg arg
		deg deg dim dim ker ker hom hom`,
	limit: `lim lim max max min min sup sup inf inf limsup lim~sup liminf lim~inf det det gcd gcd Pr Pr`,
})

// symbolTable reads lists of "name symbol" pairs, ~ in a symbol for a space.
func symbolTable(lists map[class]string) map[string]symbol {
	t := make(map[string]symbol, 400)
	for c, list := range lists {
		f := strings.Fields(list)
		for i := 0; i+1 < len(f); i += 2 {
			t[f[i]] = symbol{strings.ReplaceAll(f[i+1], "~", " "), c}
		}
	}
	return t
}

// characters holds the characters that are more than ordinary symbols.
var characters = map[string]symbol{
	"+": {"+", binary}, "-": {"−", binary}, "−": {"−", binary}, "–": {"−", binary}, "*": {"∗", binary},
	"±": {"±", binary}, "×": {"×", binary}, "·": {"⋅", binary}, "⋅": {"⋅", binary}, "÷": {"÷", binary},
	"=": {"=", relation}, "<": {"<", relation}, ">": {">", relation}, ":": {"∶", relation},
	"≤": {"≤", relation}, "≥": {"≥", relation}, "≈": {"≈", relation}, "≠": {"≠", relation},
	"∝": {"∝", relation}, "→": {"→", relation}, "⇒": {"⇒", relation}, "≪": {"≪", relation}, "≫": {"≫", relation},
	"(": {"(", opens}, "[": {"[", opens}, ")": {")", closes}, "]": {"]", closes}, "!": {"!", closes},
	",": {",", punct}, ";": {";", punct},
}

// delimiters holds what may follow \left, \middle, \right and \big beside the
// symbols that are brackets themselves.
var delimiters = map[string]string{
	"(": "(", ")": ")", "[": "[", "]": "]", "|": "|", "/": "/", ".": "", "<": "⟨", ">": "⟩",
	`\|`: "‖", `\vert`: "|", `\Vert`: "‖", `\backslash`: "∖", `\uparrow`: "↑", `\downarrow`: "↓",
}

// accent is what is set over or under a body.
type accent struct {
	text  string
	wide  bool // grows with the body
	under bool
	brace bool // takes a label
}

var accents = map[string]accent{
	"bar": {text: "¯"}, "hat": {text: "^"}, "vec": {text: "→"}, "tilde": {text: "~"},
	"dot": {text: "˙"}, "ddot": {text: "¨"}, "dddot": {text: "⃛"}, "check": {text: "ˇ"},
	"acute": {text: "´"}, "grave": {text: "`"}, "breve": {text: "˘"}, "mathring": {text: "˚"},
	"widehat": {text: "^", wide: true}, "widetilde": {text: "~", wide: true},
	"overline": {text: "‾", wide: true}, "underline": {text: "_", wide: true, under: true},
	"overrightarrow": {text: "→", wide: true}, "overleftarrow": {text: "←", wide: true},
	"overbrace":  {text: "⏞", wide: true, brace: true},
	"underbrace": {text: "⏟", wide: true, under: true, brace: true},
}

// alphabets maps commands with one argument to a style of view.Styled.
var alphabets = map[string]string{
	"mathrm": "normal", "mathup": "normal", "mathnormal": "", "mathbf": "bold", "mathit": "italic",
	"boldsymbol": "bold-italic", "bm": "bold-italic", "mathbb": "double-struck", "mathcal": "script",
	"mathscr": "script", "mathfrak": "fraktur", "mathsf": "sans-serif", "mathtt": "monospace",
}

// texts maps commands whose argument is text to its style.
var texts = map[string]string{
	"text": "", "textrm": "", "textup": "", "textnormal": "", "mbox": "", "textbf": "bold",
	"textit": "italic", "textsf": "sans-serif", "texttt": "monospace",
}

// spaces holds widths in ems.
var spaces = map[string]float64{
	",": 3. / 18, "thinspace": 3. / 18, ":": 4. / 18, ">": 4. / 18, "medspace": 4. / 18,
	";": 5. / 18, "thickspace": 5. / 18, "!": -3. / 18, "negthinspace": -3. / 18,
	" ": 1. / 3, "\n": 1. / 3, "\t": 1. / 3, "space": 1. / 3, "enspace": .5, "quad": 1, "qquad": 2,
}

// sizes holds heights of brackets in ems.
var sizes = sizeTable()

func sizeTable() map[string]float64 {
	t := map[string]float64{}
	for name, em := range map[string]float64{"big": 1.2, "Big": 1.8, "bigg": 2.4, "Bigg": 3} {
		for _, side := range []string{"", "l", "m", "r"} {
			t[name+side] = em
		}
	}
	return t
}

// environment is a table with brackets around it.
type environment struct {
	left, right string
	align       string // column alignments, repeated: 'l', 'c', 'r'
	display     bool   // its cells are set as displayed
}

var environments = map[string]environment{
	"matrix": {align: "c"}, "smallmatrix": {align: "c"}, "array": {align: "c"},
	"pmatrix": {left: "(", right: ")", align: "c"}, "bmatrix": {left: "[", right: "]", align: "c"},
	"Bmatrix": {left: "{", right: "}", align: "c"}, "vmatrix": {left: "|", right: "|", align: "c"},
	"Vmatrix": {left: "‖", right: "‖", align: "c"}, "cases": {left: "{", align: "l"},
	"rcases":  {right: "}", align: "l"},
	"aligned": {align: "rl", display: true}, "align": {align: "rl", display: true},
	"align*": {align: "rl", display: true}, "split": {align: "rl", display: true},
	"gathered": {align: "c", display: true}, "gather": {align: "c", display: true},
	"gather*": {align: "c", display: true}, "equation": {align: "c", display: true},
	"equation*": {align: "c", display: true},
}

// structures names the commands that parse.go reads one by one.
var structures = strings.Fields(`frac dfrac tfrac cfrac binom dbinom tbinom sqrt left right middle begin end
	overset underset stackrel operatorname not displaystyle textstyle limits nolimits over atop choose
	tag nonumber notag xrightarrow substack vert Vert backslash`)

// commandNames lists every command, to offer the nearest.
var commandNames = names()

func names() []string {
	all := append([]string(nil), structures...)
	all = collect(all, symbols)
	all = collect(all, accents)
	all = collect(all, alphabets)
	all = collect(all, texts)
	all = collect(all, spaces)
	return collect(all, sizes)
}

// collect adds the keys of a table that are words, in no particular order.
func collect[V any](to []string, table map[string]V) []string {
	for name := range table {
		if letter(name[0]) {
			to = append(to, name)
		}
	}
	return to
}
