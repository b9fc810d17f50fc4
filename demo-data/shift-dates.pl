# SPDX-License-Identifier: GPL-3.0-or-later
# shift-dates.pl FROM TO FILE...: moves every date in the files by the days from FROM to TO, in place.
use strict;
use warnings;

sub days { # of a civil date since 1970-01-01
    my ($y, $m, $d) = @_;
    $y-- if $m <= 2;
    my $era = int($y / 400);
    my $yoe = $y - $era * 400;
    my $doy = int((153 * ($m + ($m > 2 ? -3 : 9)) + 2) / 5) + $d - 1;
    return $era * 146097 + $yoe * 365 + int($yoe / 4) - int($yoe / 100) + $doy - 719468;
}

sub date { # of a number of days since 1970-01-01
    my $z = shift() + 719468;
    my $era = int($z / 146097);
    my $doe = $z - $era * 146097;
    my $yoe = int(($doe - int($doe / 1460) + int($doe / 36524) - int($doe / 146096)) / 365);
    my $doy = $doe - (365 * $yoe + int($yoe / 4) - int($yoe / 100));
    my $mp = int((5 * $doy + 2) / 153);
    my $d = $doy - int((153 * $mp + 2) / 5) + 1;
    my $m = $mp + ($mp < 10 ? 3 : -9);
    return sprintf('%04d-%02d-%02d', $yoe + $era * 400 + ($m <= 2 ? 1 : 0), $m, $d);
}

my ($from, $to) = map { days(split /-/) } splice @ARGV, 0, 2;
my $shift = $to - $from;
for my $file (@ARGV) {
    open my $in, '<', $file or die "$file cannot be read\n";
    my @lines = <$in>;
    close $in;
    for (@lines) {
        s/\b(\d{4})-(\d{2})-(\d{2})/date(days($1, $2, $3) + $shift)/ge;
        # A month alone means its last day.
        s/(^|,)(\d{4})-(\d{2})(?=,|$)/$1 . date(days($3 == 12 ? ($2 + 1, 1, 1) : ($2, $3 + 1, 1)) - 1 + $shift)/ge;
    }
    open my $out, '>', $file or die "$file cannot be written\n";
    print $out @lines;
    close $out or die "$file cannot be written\n";
}
