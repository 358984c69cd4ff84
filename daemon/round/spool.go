package round

import (
	"fmt"
	"os"
	"sync"
)

// spool is a file in which the bytes of letters wait for their commit: those of a
// thousand clients are more than all that a round needs in memory besides.
type spool struct {
	file *os.File
	mu   sync.Mutex
	end  int64
}

// span is a part of the spool: where it begins, and its length in bytes.
type span struct {
	at   int64
	size int
}

// newSpool begins a spool in a folder. Its file has no name there while it is used, where
// the system allows that, so that nothing of it stays behind whatever happens.
func newSpool(folder string) (*spool, error) {
	file, err := os.CreateTemp(folder, ".writing-*")
	if err != nil {
		return nil, fmt.Errorf("keep the mails of the round until they are stored: %w", err)
	}
	_ = os.Remove(file.Name()) // else it is removed when it is closed
	return &spool{file: file}, nil
}

func (s *spool) put(data []byte) (span, error) {
	s.mu.Lock()
	where := span{s.end, len(data)}
	s.end += int64(len(data))
	s.mu.Unlock()
	if _, err := s.file.WriteAt(data, where.at); err != nil {
		return where, fmt.Errorf("keep a mail of the round until it is stored: %w", err)
	}
	return where, nil
}

func (s *spool) get(where span) ([]byte, error) {
	data := make([]byte, where.size)
	if _, err := s.file.ReadAt(data, where.at); err != nil {
		return nil, fmt.Errorf("read back a mail of the round: %w", err)
	}
	return data, nil
}

// close lets go of the file. What was stored is stored: an error would say nothing of it.
func (s *spool) close() {
	_ = s.file.Close()
	_ = os.Remove(s.file.Name())
}
