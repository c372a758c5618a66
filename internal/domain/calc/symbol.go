package calc

import (
	"html"
	"strings"
)

var greek = map[string]string{
	"alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "zeta": "ζ", "eta": "η", "theta": "θ",
	"iota": "ι", "kappa": "κ", "lambda": "λ", "mu": "μ", "nu": "ν", "xi": "ξ", "pi": "π", "rho": "ρ", "sigma": "σ",
	"tau": "τ", "upsilon": "υ", "phi": "φ", "chi": "χ", "psi": "ψ", "omega": "ω",
	"Gamma": "Γ", "Delta": "Δ", "Theta": "Θ", "Lambda": "Λ", "Xi": "Ξ", "Pi": "Π", "Sigma": "Σ", "Phi": "Φ", "Psi": "Ψ", "Omega": "Ω",
}

// spell turns the name of a Greek letter into the letter. A leading Delta, as in
// DeltaF, stands for a difference or a range.
func spell(name string) string {
	if g, ok := greek[name]; ok {
		return g
	}
	if rest, ok := strings.CutPrefix(name, "Delta"); ok && rest != "" {
		return "Δ" + spell(rest)
	}
	return name
}

// split parts a symbol into its letter, its subscript and its primes.
func split(symbol string) (base, sub string, primes string) {
	base, sub, _ = strings.Cut(symbol, "_")
	n := strings.Count(base, "'")
	base = spell(strings.ReplaceAll(base, "'", ""))
	parts := strings.Split(strings.ReplaceAll(sub, "'", "′"), "_")
	for i := range parts {
		parts[i] = spell(parts[i])
	}
	return base, strings.Join(parts, ","), strings.Repeat("′", n)
}

// SymbolText prints a symbol in plain text: φ_c, f′_c, A_n,eff.
func SymbolText(symbol string) string {
	base, sub, primes := split(symbol)
	if sub != "" {
		sub = "_" + sub
	}
	return base + primes + sub
}

// SymbolMathML prints a symbol for use inside a math element.
func SymbolMathML(symbol string) string {
	base, sub, primes := split(symbol)
	base = "<mi>" + html.EscapeString(base) + "</mi>"
	if strings.Trim(sub, "0123456789") == "" {
		sub = "<mn>" + sub + "</mn>"
	} else {
		sub = "<mi>" + html.EscapeString(sub) + "</mi>"
	}
	switch {
	case sub == "<mn></mn>" && primes == "":
		return base
	case sub == "<mn></mn>":
		return "<msup>" + base + "<mo>" + primes + "</mo></msup>"
	case primes == "":
		return "<msub>" + base + sub + "</msub>"
	}
	return "<msubsup>" + base + sub + "<mo>" + primes + "</mo></msubsup>"
}
