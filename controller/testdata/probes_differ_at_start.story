# Two probes that do not tell the same story at a start give no heat.
tub 28
hush
differ 1.5
run 3m
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
       2m1s  raised "probes differ", 27.94 C
       2m1s  alarm "probes differ": normal -> unacknowledged, 27.94 C
show
  = water 27.97, effective 29.40, stage "watching with all off", waits for agreeing probes, permitted false, reason "probes differ", animal may be in
  = probes differ: heat off, unacknowledged, latched false. Compare both probes in one cup of water.
  = unproven: heat off, suppressed by design, latched false. Stay with the tub until the proof has passed.
differ 0.5
run 2m
       4m2s  cleared "probes differ", 27.94 C
       4m2s  alarm "probes differ": unacknowledged -> over, nobody answered, 27.94 C
show
  = water 27.96, effective 29.04, stage "watching with all off", waits for nothing, permitted false, reason "unproven", animal may be in
  = probes differ: none, over, nobody answered, latched false. Compare both probes in one cup of water.
  = unproven: heat off, suppressed by design, latched false. Stay with the tub until the proof has passed.
