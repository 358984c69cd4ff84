package message

import "github.com/kitmuster/kitmuster/notify/page"

// write draws the page as the HTML and the text of the mail.
func (m *Mail) write(p page.Page) error {
	var err error
	m.HTML, err = page.HTML(p)
	m.Text = page.PlainText(p)
	return err
}

// letter begins the page of a mail: the shop in small type and a title.
func letter(shop, subject, title string) page.Page {
	p := page.Page{Title: subject}
	p.Aside("%s", shop)
	p.Heading(1, title)
	return p
}

// regards ends a letter.
func regards(lines ...string) page.Paragraph {
	words := page.Plain("With kind regards")
	for _, l := range lines {
		words = words.Below(page.Plain(l))
	}
	return page.Paragraph{Words: words}
}

// attachPDF adds a paper to the mail, and to its warnings what the paper could not show.
func (m *Mail) attachPDF(name string, paper interface {
	PDF() (file []byte, warnings []string, err error)
}) error {
	pdf, warnings, err := paper.PDF()
	if err != nil {
		return err
	}
	m.Warnings = append(m.Warnings, warnings...)
	m.Attachments = append(m.Attachments, Part{Name: name + ".pdf", Type: typePDF, Data: pdf})
	return nil
}
