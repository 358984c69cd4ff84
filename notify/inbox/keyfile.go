package inbox

import (
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"github.com/kitmuster/kitmuster/notify/wholefile"
)

// mostKeys is how many keys a file keeps: the one that signs and the one before it.
const mostKeys = 2

// readKeys reads the keys of a file, a line each, the one that signs first. A file
// that others may read is an error: whoever has a key can say yes in anybody's name.
func readKeys(path string) (Keys, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if wholefile.OthersMayRead(info) {
		return nil, fmt.Errorf("%s may be read by others than its owner (%#o): whoever has the key can answer in anybody's name. Make it private with 'chmod 600 %s', and make a new key with 'kitmuster mail new-key'",
			path, info.Mode().Perm(), path)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	var keys Keys
	for line := range strings.FieldsSeq(string(text)) {
		key, err := hex.DecodeString(line)
		if err != nil || len(key) != KeyBytes {
			return nil, fmt.Errorf("%s holds a line that is no key of %d bytes; put it back from a backup, or remove the file: a new key is made then, and answers to older mails come to you", path, KeyBytes)
		}
		keys = append(keys, key)
	}
	if len(keys) == 0 {
		return nil, fmt.Errorf("%s is empty; remove it, and a new key is made", path)
	}
	return keys, nil
}

// OpenKeys reads the keys of a file, a line each, the one that signs first. Where there is
// no file it makes one with a first key; a file that others may read is an error.
func OpenKeys(path string) (Keys, error) {
	keys, err := readKeys(path)
	if !errors.Is(err, fs.ErrNotExist) {
		return keys, err
	}
	err = wholefile.New(path, Keys{NewKey()}.text())
	if errors.Is(err, fs.ErrExist) {
		err = nil // another hand was faster
	}
	if err != nil {
		return nil, fmt.Errorf("make the key for answers by mail: %w", err)
	}
	return readKeys(path)
}

// RenewKeys puts a new key first and keeps the one that signed until now, so that
// answers to mails that are out still count.
func RenewKeys(path string) error {
	old, err := OpenKeys(path)
	if err != nil {
		return err
	}
	keys := append(Keys{NewKey()}, old...)
	return wholefile.Write(path, keys[:min(len(keys), mostKeys)].text())
}

func (k Keys) text() []byte {
	var b strings.Builder
	for _, key := range k {
		b.WriteString(hex.EncodeToString(key) + "\n")
	}
	return []byte(b.String())
}
