# SPDX-License-Identifier: GPL-3.0-or-later
# The records of an invented hospital group, as the CSV files that `meterkeep-cli import` reads: one two-level set for each meter and day, a strip
# vial for each ward and two days, control vials for each ward and quarter, a lot of each kind a quarter, a comparison for each meter and quarter.
#   awk -v meters=N -v days=N -v first=DAYS_SINCE_1970 -v folder=FOLDER -f records.awk
# Writes FOLDER/catalogue, FOLDER/first (the comparisons and the first two days) and FOLDER/last (the last two days).
function date(n,    z, era, doe, yoe, doy, mp, d, m, y) { # days since 1970 to year, month, day (proleptic Gregorian)
    z = n + 719468; era = int(z / 146097); doe = z - era * 146097
    yoe = int((doe - int(doe / 1460) + int(doe / 36524) - int(doe / 146096)) / 365)
    y = yoe + era * 400; doy = doe - (365 * yoe + int(yoe / 4) - int(yoe / 100)); mp = int((5 * doy + 2) / 153)
    d = doy - int((153 * mp + 2) / 5) + 1; m = mp < 10 ? mp + 3 : mp - 9
    return sprintf("%04d-%02d-%02d", m <= 2 ? y + 1 : y, m, d)
}
function begin(part, name, header) { file = folder "/" part "/" name ".csv"; print header > file }
function done() { close(file) }
function meter(i) { return sprintf("M-%04d", 1000 + i) }
function ward(i) { return sprintf("W%03d", 1 + i % wards) }
BEGIN {
    wards = int((meters + 19) / 20); quarters = int((days + 89) / 90)
    system("mkdir -p " folder "/catalogue " folder "/first " folder "/last")
    begin("catalogue", "wards", "ward,name"); for (i = 0; i < wards; ++i) print ward(i) ",Ward " i + 1 > file; done()
    begin("catalogue", "models", "model,unit,low,high,needs_code,shared_use"); print "K-2,mg/dL,20,600,no,yes" > file; done()
    begin("catalogue", "meters", "meter,model,serial,ward,enrolled,state"); for (i = 0; i < meters; ++i) print meter(i) ",K-2,7-" i "," ward(i) "," date(first - 30) "," > file; done()
    begin("catalogue", "operators", "operator,name,role,competent_from,competent_until")
    print "rook,J. Rook,coordinator," date(first - 60) ",2098-12-31" > file
    for (i = 0; i < wards * 5; ++i) printf "n%d,N. %d,nurse,%s,2098-12-31\n", i, i, date(first - 60) > file
    done()
    begin("catalogue", "strip_lots", "lot,model,expiry,open_period,received,released")
    for (q = 0; q < quarters; ++q) print "S" q ",K-2,2098-12,3660 d," date(first - 20) "," date(first - 19) "T09:00" > file; done()
    begin("catalogue", "control_lots", "lot,level,expiry,open_period,received")
    for (q = 0; q < quarters; ++q) print "L" q ",low,2098-12,3660 d," date(first - 20) "\nH" q ",high,2098-12,3660 d," date(first - 20) > file; done()
    begin("catalogue", "ranges", "strip_lot,control_lot,level,unit,low,high,mean,sd,stage,from")
    for (q = 0; q < quarters; ++q) print "S" q ",L" q ",low,mg/dL,36,56,46,4,established," date(first - 19) "\nS" q ",H" q ",high,mg/dL,263,347,305,18,established," date(first - 19) > file
    done()
    begin("catalogue", "strip_vials", "vial,lot,opened,ward")
    for (day = 0; day < days; day += 2) for (w = 0; w < wards; ++w) printf "S%d-%s-%d,S%d,%sT04:30,%s\n", int(day / 90), ward(w), day, int(day / 90), date(first + day), ward(w) > file
    done()
    begin("catalogue", "control_vials", "vial,lot,opened,ward")
    for (q = 0; q < quarters; ++q) for (w = 0; w < wards; ++w) for (k = 0; k < 2; ++k)
        printf "%s%d-%s,%s%d,%sT04:30,%s\n", k ? "H" : "L", q, ward(w), k ? "H" : "L", q, date(first + q * 90), ward(w) > file
    done()
    begin("first", "comparisons", "pair,meter,meter_at,lab_at,operator,strip_vial,sample,sample_type,meter_result,lab_result,unit,haematocrit")
    for (day = 0; day < days; day += 90) for (i = 0; i < meters; ++i)
        printf "P-%s-%d,%s,%sT10:00,%sT10:05,rook,S%d-%s-%d,X%d,venous,%d,%d,mg/dL,40\n", meter(i), day, meter(i), date(first + day), date(first + day), int(day / 90), ward(i), day, i, 120 + i % 5, 120 > file
    done()
    runs("first", 0, days < 2 ? days : 2)
    if (days > 2) runs("last", days > 4 ? days - 2 : 2, days)
}
function runs(part, from, to) {
    begin(part, "control_runs", "set,at,meter,operator,strip_vial,level,control_vial,result,unit,reason,repeat_of,comment")
    for (day = from; day < to; ++day) for (i = 0; i < meters; ++i) {
        w = ward(i); q = int(day / 90); minute = 300 + int(i * 61 / 60) % 180
        head = meter(i) "/" date(first + day) "," date(first + day)
        tail = sprintf(",%s,n%d,S%d-%s-%d", meter(i), (i % wards) * 5 + day % 5, q, w, day - day % 2)
        printf "%sT%02d:%02d%s,low,L%d-%s,%d,mg/dL,,,\n", head, int(minute / 60), minute % 60, tail, q, w, 44 + (i * 7 + day * 3) % 5 > file
        printf "%sT%02d:%02d%s,high,H%d-%s,%d,mg/dL,,,\n", head, int((minute + 2) / 60), (minute + 2) % 60, tail, q, w, 297 + 4 * ((i * 7 + day * 3 + 1) % 5) > file
    }
    done()
}
