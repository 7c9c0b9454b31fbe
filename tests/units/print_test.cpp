// Printing, and the way back: what is printed parses to the same value within three digits.
#include "units/print.h"

#include <doctest/doctest.h>

#include "units/parse.h"

TEST_CASE("first light") { CHECK(loomproof::show(loomproof::Ampere(120)) == "120 A"); }
