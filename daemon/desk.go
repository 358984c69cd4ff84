package daemon

import (
	"context"
	"net/http"
	"sync"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/desk"
)

// desk returns the desk of the shop, which follows the files of its folder.
func (d *Daemon) desk(c *config.Config) (http.Handler, error) {
	var mu sync.Mutex
	var of *setup
	var b *books.Books
	return desk.New(desk.Options{
		Shop: func() desk.Shop {
			mu.Lock()
			defer mu.Unlock()
			su := d.su()
			if su != of {
				of, b = su, books.With(d.opt.Home, su.shop, d.store)
				b.Search = su.config.Limits.Tries
			}
			return desk.Shop{Books: b, From: From(su.config, su.shop)}
		},
		Reread: func() error {
			fresh, err := d.reread()
			if err == nil {
				d.use(&fresh)
			}
			return err
		},
		Worries: func(ctx context.Context) ([]string, error) {
			var st Status
			err := st.look(ctx, d.opt.Home, *d.su(), d.store, d.opt.Now())
			return st.Worries, err
		},
		Listen: c.Desk.Listen, Address: c.Desk.Address, Now: d.opt.Now, Log: d.opt.Log,
	})
}
