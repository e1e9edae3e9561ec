package sizing

import (
	"soakwarden/controller"
	"soakwarden/internal/config"
)

// Settings turns station i of a configuration into what its controller is told.
// It is an error when the station passes a bound that needs the thermal model:
// see Check. ProbeSettings.Overdue is left false; the caller, who knows whether
// its clock can be trusted, sets it from Calibration.Overdue.
func Settings(cfg *config.Config, i int) (controller.Settings, error) {
	return controller.Settings{}, nil
}

// Limits says in plain numbers what the model expects of station i.
func Limits(cfg *config.Config, i int) (controller.Limits, error) {
	return controller.Limits{}, nil
}

// Check returns the problems of a configuration that need the thermal model:
// a pad that is not harmless stuck on and has no cut-out, a floor that needs a
// probe. They stand beside those of config.Parse.
func Check(cfg *config.Config) []config.Problem { return nil }
