package ledger

import (
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
)

// What ledgers say for our words, in English and in the languages in which dates are read. They are
// proposed as what comes nearest, with the mapping to add, and never taken without it (from memory).
// What has more than one meaning is missing: goods that are returned may be worn out or as good as new.
var (
	kindHints = map[programme.MovementKind]string{
		programme.Issued: "handed out|given out|given|issue|ausgegeben|Ausgabe|ausgehändigt|erhalten|remis|distribué|" +
			"attribué|dotation|livré|entregado|entrega|consegnato|consegna|uitgegeven|uitgifte|verstrekt|entregue",
		programme.Ended: "scrapped|discarded|written off|disposed|thrown away|ausgesondert|Aussonderung|entsorgt|" +
			"retiré|rebut|mis au rebut|retirado|baja|dismesso|scartato|afgevoerd|afgeschreven|abatido|abate",
		programme.Counted: "count|stocktake|gezählt|Zählung|Inventur|compté|comptage|inventaire|contado|recuento|" +
			"inventario|contato|conteggio|geteld|telling|inventaris|contagem|inventário",
	}
	reasonHints = map[programme.Reason]string{
		programme.Worn: "worn out|wear|verschlissen|abgenutzt|abgetragen|usé|usure|gastado|desgastado|desgaste|" +
			"usurato|consumato|usura|versleten|slijtage|gasto",
		programme.Print: "print gone|print off|logo|Druck|Aufdruck|impression|marquage|flocage|estampado|impresión|" +
			"stampa|bedrukking|opdruk|estampa|estampagem",
		programme.Damaged: "torn|ripped|stained|burnt|burned|damage|defective|beschädigt|kaputt|defekt|zerrissen|" +
			"défectueux|abîmé|déchiré|endommagé|taché|dañado|roto|manchado|danneggiato|rotto|strappato|macchiato|" +
			"beschadigd|kapot|gescheurd|danificado|rasgado|estragado",
		programme.Lost: "missing|loss|stolen|verloren|Verlust|vermisst|perdu|perte|égaré|volé|perdido|pérdida|" +
			"extraviado|perso|smarrito|kwijt|vermist|perda",
		programme.SizeChange: "wrong size|size change|falsche Größe|Größenwechsel|Größe|taille|changement de taille|" +
			"talla|cambio de talla|taglia|cambio taglia|maat|verkeerde maat|tamanho|troca de tamanho",
		programme.LeftReason: "leaver|resigned|Austritt|ausgeschieden|départ|parti|salida|uscita|dimissioni|uit dienst|" +
			"vertrek|saída",
	}
	// colourHints are by one of the words that shops write in their catalogues.
	colourHints = map[string]string{
		"black":    "schwarz|noir|noire|negro|nero|zwart|preto",
		"white":    "weiß|blanc|blanche|blanco|bianco|wit|branco",
		"grey":     "gray|grau|gris|grigio|grijs|cinza|cinzento",
		"navy":     "marine|marineblau|dunkelblau|bleu marine|azul marino|blu navy|marineblauw|azul marinho",
		"blue":     "blau|bleu|azul|blu|blauw",
		"red":      "rot|rouge|rojo|rosso|rood|vermelho",
		"green":    "grün|vert|verde|groen",
		"yellow":   "gelb|jaune|amarillo|giallo|geel|amarelo",
		"orange":   "naranja|arancione|oranje|laranja",
		"brown":    "braun|marron|brun|marrón|marrone|bruin|castanho",
		"burgundy": "bordeaux|weinrot|burdeos|bordò|bordeauxrood",
		"royal":    "königsblau|royalblau|bleu roi|azul royal|koningsblauw",
		"charcoal": "anthrazit|anthracite|antracita|antracite|antraciet",
	}
)

// hinted are the choices of codes with their hints.
func hinted[C ~string](codes []string, hints map[C]string) *match.Choices {
	c := match.NewChoices(codes...)
	for code, words := range hints {
		if _, ok := c.Find(string(code)); ok {
			for word := range strings.SplitSeq(words, "|") {
				c.Hint(word, string(code))
			}
		}
	}
	return c
}
