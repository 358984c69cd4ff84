package message

import (
	"encoding/base64"
	"strings"
)

// Preview returns the HTML with its pictures inside, as a page for a browser.
func (m Mail) Preview() string {
	html := m.HTML
	for _, p := range m.Inline {
		html = strings.ReplaceAll(html, `"cid:`+p.CID+`"`,
			`"data:`+p.Type+";base64,"+base64.StdEncoding.EncodeToString(p.Data)+`"`)
	}
	return html
}

// Silhouette is silhouette.
var Silhouette = silhouette
