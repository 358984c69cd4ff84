package setup

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme/goldentest"
)

// Every key of both files with the sentence that stands beside it where it is written. A key at its
// default is not written, so that without this list its sentence could be lost unseen.
func TestEveryKeyHasItsSentence(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("testdata", "shop.yaml"))
	require.NoError(t, err)
	shop, err := ReadShop("shop.yaml", text)
	require.NoError(t, err)
	text, err = os.ReadFile(filepath.Join("testdata", "client.yaml"))
	require.NoError(t, err)
	client, err := ReadClient("client.yaml", text, shop)
	require.NoError(t, err)
	var b bytes.Buffer
	seen := map[string]bool{}
	var list func(path string, n *yaml.Node)
	list = func(path string, n *yaml.Node) {
		for i, x := range n.Content {
			if n.Kind != yaml.MappingNode {
				list(path, x)
				continue
			}
			if i%2 > 0 {
				continue
			}
			key, value := path+"."+x.Value, n.Content[i+1]
			if !seen[key] {
				seen[key] = true
				fmt.Fprintln(&b, strings.TrimSpace(key+"  "+x.HeadComment+value.LineComment))
			}
			list(key, value)
		}
	}
	list("shop", encode(shopFields(), shop, true))
	list("client", encode(clientFields(), client, true))
	goldentest.Equal(t, "keys.txt", b.Bytes())
}
