#!/usr/bin/perl
# SPDX-License-Identifier: GPL-3.0-or-later
# Lists for a translator what lupdate does not see: English that is its own key, as a fault's sentence, a command's help or a noun.
# Writes a .ts file without translations:  perl sentence_keys.pl ../../src > sentences.ts
# lupdate finds all that stands in tr() and QT_TRANSLATE_NOOP(); lconvert -i both -o meterkeep_xx.ts joins the two.
use strict;
use warnings;
use File::Find;

my $root = shift or die "usage: sentence_keys.pl SRC\n";
my %source;
find({ no_chdir => 1, wanted => sub {
    return unless /\.(?:cpp|h)$/;
    open(my $file, '<:raw', $_) or die "$_: $!\n";
    local $/;
    (my $text = <$file>) =~ s{^\s*//.*$}{}mg;
    $source{ substr($_, length $root) } = $text;
} }, $root);
my $text = qr/"(?:[^"\\\n]|\\.)*"(?:\s*"(?:[^"\\\n]|\\.)*")*/; # C++ joins what stands side by side
my $before = qr/(?:[^";{}]*?,\s*)?/;                           # other arguments, none of them a text
# Whoever takes a base::Sentence makes a fault of it, beside the functions of base itself.
my %makers = map { $_ => 1 } qw(fault badInput refused);
for my $code (values %source) {
    $makers{$1} = 1 while $code =~ /(\w+)(?:\s*=\s*\[[^\]]*\](?:<[^>]*>)?)?\((?:[^";{}()]*)\bSentence</g;
}
my $makers = join '|', sort keys %makers;

my @kinds = ( # context, in which files, how a key is written there
    [ 'Fault', qr/./, qr/\b(?:$makers)\(\s*$before($text)/ ],
    [ 'Help', qr/./, qr/\badd_(?:option|flag)\(\s*$text\s*,[^";{}]*?,\s*($text)\s*\)/ ],
    [ 'Help', qr/./, qr/\b(?:add_subcommand|set_help_flag)\(\s*$text\s*,\s*($text)\s*\)/ ],
    [ 'Help', qr/./, qr/\bset_version_flag\(\s*$text\s*,[^";{}]*?,\s*($text)\s*\)/ ],
    [ 'Help', qr/./, qr/(?:->footer|\bdescribe|\baddFooter)\(\s*$before($text)/ ],
    [ 'Help', qr/./, qr/\bCLI::App app \{\s*($text)/ ],
    [ 'Term', qr/./, qr/\b(?:asTerm|hasRows)\(\s*($text)/ ],
    [ 'Term', qr{registry/}, qr/\bstring_view what = ($text)/ ],
    [ 'Term', qr{registry/policy/policy\.h$}, qr/\bv\(\s*$text\s*,\s*"[^"]*",\s*($text)/ ], # where a setting's default comes from
    [ 'Term', qr{exchange/gs1_identifiers}, qr/\{ "\d+", "\w+", ($text)/ ],
    [ 'Term', qr{registry/acts/}, qr/\bv\("(\w+)",/ ], # a field, as faults name it
);
my %keys;
for my $file (sort keys %source) {
    for my $kind (grep { $file =~ $_->[1] } @kinds) {
        for my $key ($source{$file} =~ /$kind->[2]/g) {
            next if $key eq '""';
            $key =~ s/^"|"$//g or $key =~ tr/_/ /;
            $key =~ s/(?<!\\)"\s*"//g;
            $key =~ s/\\(.)/$1 eq 'n' ? "\n" : $1/ge;
            $key =~ s/([&<>"])/{ '&' => '&amp;', '<' => '&lt;', '>' => '&gt;', '"' => '&quot;' }->{$1}/ge;
            $keys{ $kind->[0] }{$key} = 1;
        }
    }
}
print qq(<?xml version="1.0" encoding="utf-8"?>\n<!DOCTYPE TS>\n<TS version="2.1" sourcelanguage="en">\n);
for my $context (sort keys %keys) {
    print "<context>\n    <name>$context</name>\n";
    print "    <message><source>$_</source><translation type=\"unfinished\"></translation></message>\n" for sort keys %{ $keys{$context} };
    print "</context>\n";
}
print "</TS>\n";
