package daemon

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/logkey"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
)

// page is something that the daemon serves at an address that the config names; the
// server is nil when it names none.
type page struct {
	served
	address string
	server  *http.Server
}

// served holds the pages that the daemon serves at the address of the config.
type served struct {
	what, section string
	address       func(*config.Config) string
	handler       func(*config.Config) (http.Handler, error)
	// patience is the longest time that an answer may take.
	patience time.Duration
}

// allServed lists what the daemon serves.
func (d *Daemon) allServed() []served {
	return []served{
		{"page for monitoring", "http", func(c *config.Config) string { return c.HTTP.Listen },
			func(*config.Config) (http.Handler, error) { return d.answers(), nil }, 30 * time.Second},
		{"desk", "desk", func(c *config.Config) string { return c.Desk.Listen }, d.desk, 5 * time.Minute},
	}
}

func (p page) close(ctx context.Context) {
	if p.server == nil {
		return
	}
	within, cancel := context.WithTimeout(context.WithoutCancel(ctx), closeWithin)
	defer cancel()
	if err := p.server.Shutdown(within); err != nil {
		_ = p.server.Close() // whoever still reads the answer asks again
	}
}

// openPages opens what the config names.
func (d *Daemon) openPages(ctx context.Context) (all []page, err error) {
	for _, s := range d.allServed() {
		p, err := d.serve(ctx, s)
		if err != nil {
			closePages(ctx, all)
			return nil, err
		}
		all = append(all, p)
	}
	return all, nil
}

func closePages(ctx context.Context, all []page) {
	for _, p := range all {
		p.close(ctx)
	}
}

// follow opens a page anew when the settings name another address. One that
// cannot be opened is told, and no reason to stop.
func (d *Daemon) follow(ctx context.Context, p page) page {
	if ctx.Err() != nil || p.served.address(d.su().config) == p.address {
		return p
	}
	p.close(ctx)
	fresh, err := d.serve(ctx, p.served)
	if err != nil {
		d.opt.Log.Error("a page is not served", logkey.Error, err.Error())
		d.event(ctx, store.Event{Kind: programme.OtherTrouble, What: fmt.Sprintf("There is no %s: %v", p.what, err),
			Mend: fmt.Sprintf("Name another address in config.yaml under %s, listen.", p.section)})
	}
	return fresh
}

// serve opens a page when the config names an address. The config lets it be
// on this machine alone.
func (d *Daemon) serve(ctx context.Context, s served) (page, error) {
	c := d.su().config
	p := page{served: s, address: s.address(c)}
	if p.address == "" {
		return p, nil
	}
	handler, err := s.handler(c)
	if err != nil {
		return p, err
	}
	l, err := new(net.ListenConfig).Listen(ctx, "tcp", p.address)
	if err != nil {
		return p, fmt.Errorf("open the %s at %s: %w", s.what, p.address, err)
	}
	p.server = &http.Server{Handler: handler, ReadTimeout: 10 * time.Second, WriteTimeout: s.patience,
		IdleTimeout: time.Minute, MaxHeaderBytes: 1 << 16}
	go func() {
		if err := p.server.Serve(l); err != nil && !errors.Is(err, http.ErrServerClosed) {
			d.opt.Log.Error("a page ended", logkey.Error, err.Error())
		}
	}()
	d.opt.Log.Info("page served", logkey.Kind, s.section, logkey.Address, l.Addr().String())
	return p, nil
}

// answers to /healthz and /metrics.
func (d *Daemon) answers() http.Handler {
	registry := prometheus.NewRegistry()
	registry.MustRegister(collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}), &gauges{d})
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(registry, promhttp.HandlerOpts{}))
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, r *http.Request) {
		var st Status
		err := st.look(r.Context(), d.opt.Home, *d.su(), d.store, d.opt.Now())
		w.Header().Set("Content-Type", "application/json")
		if err != nil {
			st.worry("The database cannot be read: %v", err)
		}
		if why := d.unread.Load(); why != nil {
			st.worry("%s", unreadable(*why))
		}
		if len(st.Worries) > 0 {
			w.WriteHeader(http.StatusServiceUnavailable)
		}
		_ = json.NewEncoder(w).Encode(map[string]any{"format": 1, "well": len(st.Worries) == 0, "worries": st.Worries})
	})
	return mux
}

// gauges reads the figures when they are asked for.
type gauges struct{ d *Daemon }

var (
	metricOutbox = prometheus.NewDesc("kitmuster_outbox_deliveries", "Deliveries by state.", []string{"state"}, nil)
	metricClosed = prometheus.NewDesc("kitmuster_outbox_closed", "1 when the transport is closed.", nil, nil)
	metricDue    = prometheus.NewDesc("kitmuster_job_next_timestamp_seconds", "When each job is due next.",
		[]string{"job"}, nil)
	metricFinished = prometheus.NewDesc("kitmuster_job_finished_timestamp_seconds", "When each job's last slot ended.",
		[]string{"job", "state"}, nil)
	metricBackup = prometheus.NewDesc("kitmuster_backup_newest_timestamp_seconds",
		"Time of the newest backup.", nil, nil)
	metricDatabase = prometheus.NewDesc("kitmuster_database_bytes", "Size of the database with its log.", nil, nil)
	metricDrop     = prometheus.NewDesc("kitmuster_drop_folder_files", "Files that wait in the drop folder.", nil, nil)
	metricWorries  = prometheus.NewDesc("kitmuster_worries", "How many things a person should look at.", nil, nil)
)

// Describe names every figure.
func (g *gauges) Describe(ch chan<- *prometheus.Desc) {
	for _, m := range []*prometheus.Desc{metricOutbox, metricClosed, metricDue, metricFinished, metricBackup,
		metricDatabase, metricDrop, metricWorries} {
		ch <- m
	}
}

// Collect reads the shop's status.
func (g *gauges) Collect(ch chan<- prometheus.Metric) {
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	var st Status
	if err := st.look(ctx, g.d.opt.Home, *g.d.su(), g.d.store, g.d.opt.Now()); err != nil {
		ch <- prometheus.NewInvalidMetric(metricWorries, err)
		return
	}
	put := func(m *prometheus.Desc, v float64, labels ...string) {
		ch <- prometheus.MustNewConstMetric(m, prometheus.GaugeValue, v, labels...)
	}
	for _, s := range []outbox.State{outbox.Waiting, outbox.Accepted, outbox.Refused, outbox.GivenUp, outbox.Held,
		outbox.Dropped} {
		put(metricOutbox, float64(st.Outbox.Counts[s]), string(s))
	}
	closed := 0.0
	if st.Outbox.Closed {
		closed = 1
	}
	put(metricClosed, closed)
	for _, j := range st.Jobs {
		if j.Next != nil {
			put(metricDue, float64(j.Next.Unix()), j.Name)
		}
		if j.Finished != nil {
			put(metricFinished, float64(j.Finished.Unix()), j.Name, j.State)
		}
	}
	if st.Backup.Newest != nil {
		put(metricBackup, float64(st.Backup.Newest.Unix()))
	}
	put(metricDatabase, float64(st.Database.Bytes))
	put(metricDrop, float64(len(st.Drop.Waiting)))
	put(metricWorries, float64(len(st.Worries)))
}
