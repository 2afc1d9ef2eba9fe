// Any bytes at all as a profile: it can be used, or every complaint says what and where; checking, loading
// and showing agree on which of the two.
#include "dialect/profile.hpp"
#include "dialect/profile_view.hpp"
#include "scratch_file.hpp"

using namespace restep;
using fuzz::require;

namespace {

bool loads(dialect::ProfileKind kind, std::string const& file) {
  switch (kind) {
  case dialect::ProfileKind::dialect: return dialect::load_dialect(file).has_value();
  case dialect::ProfileKind::machine: return dialect::load_machine(file).has_value();
  case dialect::ProfileKind::tools: return dialect::load_tools(file).has_value();
  }
  return false;
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* data, std::size_t size) {
  static fuzz::ScratchFolder const folder;
  std::string const file = folder.write("profile.toml", data, size);
  auto const errors = dialect::check_profile(file);
  for (auto const& error : errors)
    require(!error.message.empty() && !dialect::format(error).empty());
  auto const kind = dialect::kind_of_profile(file);
  if (!kind) {
    require(!errors.empty());
    return 0;
  }
  require(loads(*kind, file) == errors.empty());
  auto const view = dialect::view_profile(*kind, file);
  if (errors.empty()) require(view && view->errors.empty());
  return 0;
}
