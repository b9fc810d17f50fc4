// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/ward_ground.h"

namespace mk::model {

std::map<std::string, std::string> files(const Ground& ground)
{
    const std::string start = ground.day + "T05:00:00Z";
    std::string ranges = "strip_lot,control_lot,level,unit,low,high,mean,sd,stage,from\n";
    for (const char* lot : { "S1", "S2", "S3", "S5" }) {
        ranges += std::string(lot) + ",CL,low,mg/dL,48,72," + (ground.targets ? "60,3,interim," : ",,,") + start + "\n";
        ranges += std::string(lot) + ",CH,high,mg/dL,255,345," + (ground.targets ? "300,9,interim," : ",,,") + start + "\n";
    }
    return {
        { "wards.csv", "ward,name\nW1,Ward one\nW2,Ward two\n" },
        { "models.csv",
            "model,unit,low,high,haematocrit_low,haematocrit_high,needs_code,shared_use,market_approval\n"
            "K1,mg/dL,20,600,20,65,no,yes,\nK2,mg/dL,20,600,20,65,no,no,\n" },
        { "meters.csv",
            "meter,model,serial,ward,enrolled,state\nM1,K1,a,W1," + start + ",\nM2,K1,b,W1," + start + ",\nM3,K1,c,W1," + ground.enrolled
                + ",\nM4,K2,d,W1," + start + ",\n" },
        { "operators.csv",
            "operator,name,role,competent_from,competent_until\nN1,Nurse one,nurse,2025-01-01,2030-12-31\nN2,Nurse two,nurse,2025-01-01,"
                + ground.lapses
                + "\nN3,Nurse three,nurse,2025-01-01,2030-12-31\nC1,Coordinator,coordinator,,\nI1,Inspector,inspector,,\n" },
        { "strip_lots.csv",
            "lot,model,gtin,code,expiry,open_period,received,released\nS1,K1,,,2030-12,90 d," + start + "," + start
                + "\nS2,K1,,,2030-12,90 d," + start + ",\nS3,K1,,,2030-12,," + start + "," + start + "\nS4,K1,,,2030-12,90 d," + start
                + ",\nS5,K2,,,2030-12,90 d," + start + "," + start + "\n" },
        { "strip_vials.csv",
            "vial,lot,opened,ward\nV1,S1," + ground.nearlyOut + ",W1\nV2,S1," + start + ",W1\nV3,S1," + start + ",W1\nV4,S2," + start
                + ",W1\nV5,S1,,W1\nV6,S3," + start + ",W1\nV8,S1," + start + ",W1\nV9,S5," + start + ",W1\n" },
        { "control_lots.csv",
            "lot,level,expiry,open_period,received\nCL,low,2030-12,90 d," + start + "\nCH,high,2030-12,90 d," + start
                + "\nCL2,low,2030-12,90 d," + start + "\n" },
        { "control_vials.csv",
            "vial,lot,opened,ward\nL1,CL," + start + ",W1\nL2,CL," + ground.nearlyOut + ",W1\nL3,CL2," + start + ",W1\nH1,CH," + start
                + ",W1\nH2,CH," + start + ",W1\n" },
        { "ranges.csv", ranges },
        { "vial_ends.csv", "at,vial,operator,how\n" + start + ",V8,C1,quarantined\n" },
    };
}

} // namespace mk::model
