chamber
run 90m
         4s  first heat
         4s  heat on
         4s  series relay on
   1h10m47s  heat off
    1h16m6s  heat on
   1h18m51s  heat off
   1h24m12s  heat on
   1h26m57s  heat off
fault airflow
run 20s
    1h30m5s  raised "airflow lost"
    1h30m5s  alarm "airflow lost": normal -> unacknowledged
    1h30m5s  series relay off
heal airflow
run 5m
   1h30m30s  cleared "airflow lost"
   1h30m30s  alarm "airflow lost": unacknowledged -> over, nobody answered
   1h30m30s  series relay on
   1h32m17s  heat on
    1h35m2s  heat off
fault door
run 30s
   1h35m21s  raised "door open"
   1h35m21s  alarm "door open": normal -> unacknowledged
   1h35m21s  series relay off
heal door
run 5m
   1h35m51s  cleared "door open"
   1h35m51s  alarm "door open": unacknowledged -> over, nobody answered
   1h35m51s  series relay on
   1h40m17s  heat on
fault pad welded
fault series welded
until latched 2h
    1h43m2s  heat off
   1h53m12s  raised "unasked rise", 60.38 C
   1h53m12s  latched "unasked rise", 60.38 C
   1h53m12s  alarm "unasked rise": normal -> unacknowledged, 60.38 C
   1h53m12s  series relay off
show
  = water 60.35, effective 56.00, stage "proven", waits for nothing, permitted false, reason "unasked rise", animal may be in
  = unasked rise: trip, unacknowledged, latched true. Lift the snake out if the water is warm. Unplug the pad. Change the pad relay.
  = airflow lost: none, over, nobody answered, latched false. Look at the fan.
  = door open: none, over, nobody answered, latched false. Close the door.
stop
run 11m
   1h57m35s  raised "over the limit", 62.00 C
   1h57m35s  alarm "over the limit": normal -> unacknowledged, 62.00 C
    2h3m14s  latched "over the limit", 62.00 C
