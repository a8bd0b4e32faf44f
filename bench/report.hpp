/// \file
/// \brief The numbers for people and for scripts.

#pragma once

#include <filesystem>
#include <string>

#include "bench/suite.hpp"

namespace torsowave::bench {

/// All numbers, in SI units.
[[nodiscard]] std::string full_json(const Report& report);

/// The three headline ratios, the rates behind them, and the machine.
[[nodiscard]] std::string quick_json(const Report& report);

/// Tables in Markdown.
[[nodiscard]] std::string markdown(const Report& report);

/// What is wrong with a document that is to take the tables; empty: nothing.
[[nodiscard]] std::string document_fault(const std::string& path);

/// Replaces what stands between the two marker lines of a document without fault.
/// \throws postproc::WriteError
void put_into_document(const std::string& tables, const std::filesystem::path& document);

}  // namespace torsowave::bench
