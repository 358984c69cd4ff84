package main

import (
	"context"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/programme"
)

// offer returns what f finds in the shop's books as completions for the shell.
func (a *app) offer(cmd *cobra.Command,
	f func(context.Context, *books.Books) ([]string, error)) ([]string, cobra.ShellCompDirective) {
	var words []string
	err := a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) (err error) {
		words, err = f(ctx, b)
		return err
	})
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	return words, cobra.ShellCompDirectiveNoFileComp
}

// completePerson offers clients, then the staff who are there, with their names.
func (a *app) completePerson(cmd *cobra.Command, args []string, start string) ([]string, cobra.ShellCompDirective) {
	switch len(args) {
	case 0:
		return a.completeClient(cmd, args, start)
	case 1:
		return a.offer(cmd, func(ctx context.Context, b *books.Books) ([]string, error) {
			people, err := b.Store.People(ctx, args[0])
			var words []string
			for _, p := range programme.Roster(people).On(a.today()) {
				words = append(words, p.StaffID+"\t"+p.Name)
			}
			return words, err
		})
	default:
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
}

// completeMove offers clients, people and then what the person's kit holds, in
// the person's size.
func (a *app) completeMove(cmd *cobra.Command, args []string, start string) ([]string, cobra.ShellCompDirective) {
	if len(args) < 2 {
		return a.completePerson(cmd, args, start)
	}
	if len(args) > 2 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return a.offer(cmd, func(ctx context.Context, b *books.Books) ([]string, error) {
		client, err := b.Client(ctx, args[0])
		if err != nil {
			return nil, err
		}
		people, err := b.Store.People(ctx, args[0])
		if err != nil {
			return nil, err
		}
		p, err := record.FindPerson(people, args[1])
		if err != nil {
			return nil, err
		}
		return kitWords(b.Shop, client, p), nil
	})
}

func kitWords(shop *programme.Shop, client *programme.Client, p *programme.Person) []string {
	role, ok := client.Role(p.Role)
	if !ok {
		return nil
	}
	var words []string
	for _, k := range role.For(shop, p).Kit {
		word := k.Garment
		if g, ok := shop.Garment(k.Garment); ok {
			if size := g.SizeOf(p); size != "" {
				word += "/" + k.Colour + "/" + size
			}
			word += "\t" + g.Name
		}
		words = append(words, word)
	}
	return words
}

func (a *app) completeRole(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return a.offer(cmd, func(ctx context.Context, b *books.Books) ([]string, error) {
		client, err := b.Client(ctx, args[0])
		if err != nil {
			return nil, err
		}
		var words []string
		for i := range client.Roles {
			words = append(words, client.Roles[i].Code+"\t"+client.Roles[i].Name)
		}
		return words, nil
	})
}

func (a *app) completeReceive(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	switch len(args) {
	case 0:
		return []string{string(programme.Blank), string(programme.Transfer), string(programme.Finished)},
			cobra.ShellCompDirectiveNoFileComp
	case 1:
		return a.offer(cmd,
			func(_ context.Context, b *books.Books) ([]string, error) { return stockWords(b.Shop, args[0]), nil })
	default:
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
}

func stockWords(shop *programme.Shop, kind string) []string {
	var words []string
	if kind == string(programme.Transfer) {
		for _, a := range shop.Transfers() {
			words = append(words, a.Code+"\t"+a.Name)
		}
		return words
	}
	for i := range shop.Garments {
		g := &shop.Garments[i]
		for _, colour := range g.Colours {
			for _, s := range g.Sizes {
				words = append(words, g.Code+"/"+colour+"/"+s.Code+"\t"+g.Name)
			}
		}
	}
	return words
}
