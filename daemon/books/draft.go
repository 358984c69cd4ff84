package books

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme/draft"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// ErrThere says that there is a programme of that code already.
var ErrThere = fmt.Errorf("is there already; nothing was written. %w", hint.Text{
	Command: "Move it away, or write over it with --replace", Desk: "Give the client another name"})

// WriteDraft adds the artworks of a drafted programme to the shop.yaml of a folder and writes the
// programme, after making sure that both read as meant. It returns the programme's
// path and text. One that is there already is ErrThere, unless it is to be replaced.
func WriteDraft(home string, d *draft.Draft, replace bool) (path string, text []byte, err error) {
	path, text = filepath.Join(home, ProgrammesDir, d.Client.Code+".yaml"), setup.WriteDraft(d)
	switch _, err := os.Stat(path); {
	case err == nil && !replace:
		return path, text, fmt.Errorf("%s %w", path, ErrThere)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return path, text, fmt.Errorf("look for %s: %w", path, err)
	}
	shopPath := filepath.Join(home, ShopFile)
	old, err := os.ReadFile(shopPath)
	if err != nil {
		return path, text, fmt.Errorf("read %s: %w", shopPath, err)
	}
	next, err := setup.AddArtworks(old, d.Artworks)
	if err != nil {
		return path, text, err
	}
	shop, err := setup.ReadShop(shopPath, next)
	if err != nil {
		return path, text, fmt.Errorf("the draft's artworks do not fit into the catalogue: %w", err)
	}
	if _, err := setup.ReadClient(path, text, shop); err != nil {
		return path, text, fmt.Errorf("the draft does not fit the catalogue: %w", err)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return path, text, err
	}
	if err := wholefile.Write(shopPath, next); err != nil { // a programme whose artworks are nowhere could not be read
		return path, text, err
	}
	return path, text, wholefile.Write(path, text)
}
