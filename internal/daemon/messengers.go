package daemon

import (
	"fmt"
	"log/slog"

	"soakwarden/internal/config"
	"soakwarden/internal/notify"
)

// NotifyOptions turns the notify part of a configuration into what package
// notify is made of.
func NotifyOptions(cfg *config.Config, log *slog.Logger) (notify.Options, error) {
	o := notify.Options{Bench: cfg.Name, Repeat: cfg.Notify.Repeat, Phone: cfg.Notify.SitterPhone, Log: log}
	for _, w := range cfg.Notify.Webhooks {
		least, err := notify.ParseSeverity(w.From)
		if err != nil {
			return o, fmt.Errorf("webhook %s: %w", w.Name, err)
		}
		o.Targets = append(o.Targets, notify.Target{
			Name: w.Name, URL: w.URL, TokenFile: w.TokenFile, Least: least, After: w.After,
		})
	}
	return o, nil
}
