// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/gs1.h"

namespace mk::exchange {

const std::vector<Gs1Identifier>& gs1Identifiers()
{
    using enum Gs1Content;
    static const std::vector<std::string_view> anItem = { "01", "02" };
    static const std::vector<std::string_view> aGtin = { "01" };
    static const std::vector<Gs1Identifier> identifiers = {
        { "00", "sscc", "Shipping container", Digits, 18, 18, true, true },
        { "01", "gtin", "GTIN", Digits, 14, 14, true, true, {}, { "02" } },
        { "02", "content_gtin", "GTIN of the contents", Digits, 14, 14, true, true, { "37" } },
        { "10", "lot", "Lot", Text, 1, 20, false, false, anItem },
        { "11", "production", "Production date", Date, 6, 6, false, true, anItem },
        { "12", "due", "Due date", Date, 6, 6, false, true },
        { "13", "packed", "Packaging date", Date, 6, 6, false, true, anItem },
        { "15", "best_before", "Best before", Date, 6, 6, false, true, anItem },
        { "16", "sell_by", "Sell by", Date, 6, 6, false, true, anItem },
        { "17", "expiry", "Expiry", Date, 6, 6, false, true, anItem },
        { "20", "variant", "Variant", Digits, 2, 2, false, true, anItem },
        { "21", "serial", "Serial number", Text, 1, 20, false, false, aGtin },
        { "22", "consumer_variant", "Consumer product variant", Text, 1, 20, false, false, aGtin },
        { "240", "additional_id", "Additional identification", Text, 1, 30, false, false, anItem },
        { "241", "customer_part", "Customer part number", Text, 1, 30, false, false, anItem },
        { "30", "variable_count", "Variable count", Digits, 1, 8, false, false, anItem },
        { "37", "content_count", "Count of the contents", Digits, 1, 8, false, false, { "02" } },
        { "400", "order", "Order number", Text, 1, 30 },
        { "7003", "expiry_time", "Expiry with time", DateTime, 10, 10, false, false, anItem },
        { "710", "pzn", "PZN", Text, 1, 20, false, false, aGtin },
        // What a company agrees with itself or its partners: no meaning of its own, but no reason to refuse the rest of a code.
        { "90", "agreed_90", "Agreed between partners", Text, 1, 30 },
        { "91", "internal_91", "Company internal", Text, 1, 90 },
        { "92", "internal_92", "Company internal", Text, 1, 90 },
        { "93", "internal_93", "Company internal", Text, 1, 90 },
        { "94", "internal_94", "Company internal", Text, 1, 90 },
        { "95", "internal_95", "Company internal", Text, 1, 90 },
        { "96", "internal_96", "Company internal", Text, 1, 90 },
        { "97", "internal_97", "Company internal", Text, 1, 90 },
        { "98", "internal_98", "Company internal", Text, 1, 90 },
        { "99", "internal_99", "Company internal", Text, 1, 90 },
    };
    return identifiers;
}

} // namespace mk::exchange
