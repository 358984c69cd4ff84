package desk_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/desk"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// A shop that has nothing but its starter catalogue comes to its first client, and the
// client to its first people, on the desk.
func TestAnEmptyShopComesToItsFirstClient(t *testing.T) {
	home := t.TempDir()
	start := setup.Start{Name: "Corner Press", Currency: "USD", TimeZone: "UTC", Units: programme.Inches,
		DateStyle: programme.DayFirst,
		Owner:     programme.Contact{Name: "Ann Tilling", Email: "ann@cornerpress.example"}, Ordering: 2500,
		Unused: 0.1}
	require.NoError(t, os.WriteFile(filepath.Join(home, books.ShopFile), setup.WriteShop(setup.Starter(start)), 0o600))
	b, err := books.Create(context.Background(), home)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, b.Close()) })
	srv := httptest.NewUnstartedServer(nil)
	h, err := desk.New(desk.Options{Shop: func() desk.Shop { return desk.Shop{Books: b, From: b.Shop.Owner} },
		Listen: srv.Listener.Addr().String(), Now: time.Now, Reread: func() error {
			shop, err := books.ReadShop(home)
			if err == nil {
				b = books.With(home, shop, b.Store)
			}
			return err
		}})
	require.NoError(t, err)
	srv.Config.Handler = h
	srv.Start()
	t.Cleanup(srv.Close)
	s := &shop{t: t, b: b, url: srv.URL, today: programme.DateOf(time.Now().UTC()), now: time.Now}

	w := s.signedIn()
	require.Contains(t, w.text(), "Begin with a client")
	w.press("", "A new client")
	w.press("client", "Draft the programme", "name", "Larch & Finch Café", "contact", "Nell Larch", "email", "nell",
		"people", "9")
	require.Equal(t, http.StatusUnprocessableEntity, w.status)
	require.Contains(t, w.notice(), "nell")
	form := w.fill("client", "Draft the programme", "email", "nell@larchfinch.example", "trade", "food")
	require.Equal(t, "Larch & Finch Café", form.values.Get("name"), "what was typed stays")
	w.send(form)
	require.Equal(t, http.StatusOK, w.status, w.notice())
	require.Equal(t, "/client/larch-finch-café", w.path)
	require.Contains(t, w.notice(), "is drafted and applied")
	w.send(form) // twice is once
	require.Equal(t, http.StatusOK, w.status, w.notice())
	c, err := b.Client(context.Background(), "larch-finch-café")
	require.NoError(t, err)
	require.Equal(t, "Nell Larch", c.Customer.Name)
	require.FileExists(t, filepath.Join(home, books.ProgrammesDir, "larch-finch-café.yaml"))

	// Another client of that name is told and writes nothing over it, though its file be gone.
	file := filepath.Join(home, books.ProgrammesDir, "larch-finch-café.yaml")
	for range 2 {
		w.get("/new-client")
		w.press("client", "Draft the programme", "name", "Larch & Finch Café", "contact", "Somebody", "email",
			"else@larchfinch.example", "people", "3")
		require.Equal(t, http.StatusUnprocessableEntity, w.status)
		require.Contains(t, w.notice(), "is there already")
		require.NoError(t, os.RemoveAll(file))
	}
	require.NoFileExists(t, file)

	w.get("/client/larch-finch-café")
	require.Contains(t, w.text(), "roster--larch-finch-café.csv", "nobody types a whole staff")
	w.get("/client/larch-finch-café/start")
	require.Contains(t, w.text(), "Size, top")
	require.NotContains(t, w.text(), "Size, bottom", "the catalogue has trousers, but no kit of this client")
	w.press("start", "They start", "name-0", "Kezia Larkfield", "size-top-0", "M")
	require.Equal(t, http.StatusOK, w.status, w.notice())
	people, err := b.Store.People(context.Background(), c.Code)
	require.NoError(t, err)
	require.Len(t, people, 1)
}
