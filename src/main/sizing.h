// What the commands that choose sizes share.
#pragma once

#include <string>

#include "size/size.h"

namespace loomproof {

/// Nothing stands at the path, or it may be overwritten; else it is told.
bool may_write(const std::string& path, bool force);

/// The difference, value by value, and what is proved of it; or the facts in conflict; for stdout.
std::string text_of(const std::string& file, const SizeRequest&, const SizeResult&);

}  // namespace loomproof
