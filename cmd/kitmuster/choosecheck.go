package main

import (
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
)

// check refuses names that neither the programme nor the catalogue has.
func (f *chooseFlags) check(shop *programme.Shop, client *programme.Client) error {
	roles := match.ChoicesOf(client.Roles, func(x *programme.Role) (string, string) { return x.Code, "" })
	if _, ok := client.Role(f.role); f.role != "" && !ok {
		return fmt.Errorf("--role is %q, %s", f.role, roles.Want("role in the programme of "+client.Code, f.role))
	}
	if f.wearers < 0 {
		return usagef("--wearers is %d; give 1 or more", f.wearers)
	}
	garments := match.ChoicesOf(shop.Garments, func(x *programme.Garment) (string, string) { return x.Code, "" })
	for _, g := range append([]string{f.garment}, f.with...) {
		if _, ok := shop.Garment(g); g != "" && !ok {
			return fmt.Errorf("read %q, %s", g, garments.Want("garment in shop.yaml", g))
		}
	}
	kinds := match.ChoicesOf(shop.Kinds, func(x *programme.TransferKind) (string, string) { return x.Code, "" })
	for _, k := range f.kinds {
		if _, ok := shop.Kind(k); !ok {
			return fmt.Errorf("read %q, %s", k, kinds.Want("transfer kind in shop.yaml", k))
		}
	}
	for _, role := range client.Roles {
		for _, line := range role.Kit {
			if (f.role == "" || role.Code == f.role) && (f.garment == "" || line.Garment == f.garment) {
				return nil
			}
		}
	}
	if f.garment == "" {
		return fmt.Errorf("the kit of role %s of client %s is empty", f.role, client.Code)
	}
	return fmt.Errorf("no kit of client %s has %s; 'kitmuster programme show %s' lists the kits", client.Code,
		strings.TrimSpace(f.garment+" "+f.role), client.Code)
}
