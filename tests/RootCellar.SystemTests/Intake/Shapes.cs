namespace RootCellar.SystemTests.Intake;

/// <summary>
/// What sensors of any make may send, and what is offered for each. Every payload is invented.
/// </summary>
internal static class Shapes
{
    /// <summary>
    /// Topic, payload, and what is offered: pointer or pick, quantity, unit; those with no guess are left out, so that nothing means asked. Where no figure is
    /// found: none, and why.
    /// </summary>
    public static readonly (string Topic, string Payload, string Offered)[] Text =
    [
        // A block per chip with the unit beside it.
        ("tele/cellar1/SENSOR", """{"Time":"2026-11-02T06:10:00","SI7021":{"Temperature":12.8,"Humidity":91,"DewPoint":11.4},"TempUnit":"C"}""",
            "/SI7021/Temperature temperature_c; /SI7021/Humidity humidity_pct"),
        ("tele/barn/SENSOR", """{"AM2301":{"Temperature":55.1,"Humidity":88.2},"TempUnit":"F"}""",
            "/AM2301/Temperature temperature_c F; /AM2301/Humidity humidity_pct"),
        ("tele/probe/SENSOR", """{"DS18B20-1":{"Id":"0115","Temperature":3.9},"DS18B20-2":{"Id":"0116","Temperature":4.4},"TempUnit":"C"}""",
            "/DS18B20-1/Temperature temperature_c; /DS18B20-2/Temperature temperature_c"),
        // Flat JSON of a gateway.
        ("gateway/curing door", """{"battery":97,"humidity":88.1,"linkquality":120,"temperature":12.31,"voltage":2995}""",
            "/battery battery_pct; /humidity humidity_pct; /temperature temperature_c; /voltage battery_v mV"),
        ("gateway/light", """{"illuminance":14,"illuminance_lux":14}""", "/illuminance light_lx; /illuminance_lux light_lx"),
        // A state topic for each figure.
        ("node7/sensor/air_temperature/state", "12.3", "1 temperature_c"),
        ("node7/sensor/air_humidity/state", "90.5", "1 humidity_pct"),
        ("node7/sensor/outside_temperature_f/state", "48.2", "1 temperature_c F"),
        // Bluetooth gateways.
        ("home/gw/BTtoMQTT/A4C138001122", """{"id":"A4:C1:38:00:11:22","tempc":12.4,"tempf":54.3,"hum":88,"batt":83,"volt":2.9,"rssi":-71}""",
            "/tempc temperature_c; /tempf temperature_c F; /hum humidity_pct; /batt battery_pct; /rssi rssi_dbm"),
        // One topic for all that a radio receiver hears.
        ("radio/events", """{"model":"Weather-TX","id":1420,"channel":1,"battery_ok":1,"temperature_C":12.4,"humidity":88}""",
            "/temperature_C temperature_c; /humidity humidity_pct"),
        ("radio/raw", """{"model":"Fridge-2","id":9,"temperature_F":36.5}""", "/temperature_F temperature_c F"),
        // Status per component.
        ("plug3/status/temperature:0", """{"id":0,"tC":12.4,"tF":54.3}""", "/tC temperature_c; /tF temperature_c F"),
        ("plug3/status/humidity:0", """{"id":0,"rh":88.5}""", "/rh humidity_pct"),
        // LoRa, decoded three levels down.
        ("application/4/device/a84041/event/up", """{"rxInfo":[{"rssi":-97,"snr":7}],"object":{"TempC_SHT":12.4,"Hum_SHT":88.1,"BatV":3.05}}""",
            "/rxInfo/0/rssi rssi_dbm; /object/TempC_SHT temperature_c; /object/Hum_SHT humidity_pct; /object/BatV battery_v"),
        ("lora/a84041/up", """{"uplink_message":{"decoded_payload":{"temperature":3.9,"relative_humidity":95.2}}}""",
            "/uplink_message/decoded_payload/temperature temperature_c; /uplink_message/decoded_payload/relative_humidity humidity_pct"),
        // Text.
        ("shed/text", "12.8 °C", "1 temperature_c"),
        ("shed/temp", "54.5F", "1 temperature_c F"),
        ("shed/pairs", "t=12.8,h=91", "t temperature_c; h humidity_pct"),
        ("shed/named", "temp: 12,8 hum: 91", "temp temperature_c; hum humidity_pct"),
        ("shed/comma/temperature", "12,8", "1 temperature_c"),
        ("shed/list", "12.8°C;91%", "1 temperature_c; 2 humidity_pct"),
        ("shed/quoted", """{"temperature":"12.8 °C","humidity":"91 %"}""", "/temperature temperature_c; /humidity humidity_pct"),
        ("shed/array", """[{"name":"air","temperature":12.8}]""", "/0/temperature temperature_c"),
        ("shed/slash", """{"a/b":{"temp~1":4.2}}""", "/a~1b/temp~01 temperature_c"),
        ("shed/share", """{"humidity":0.91}""", "/humidity humidity_pct /"),
        ("shed/air", """{"pressure":1013.2,"co2":640}""", "/pressure pressure_pa hPa; /co2 co2_ppm"),
        // Not in the air: no guess.
        ("garden/soil", """{"soil_moisture":41,"soil_temperature":9.1}""", ""),
        // On our topics with other words.
        ("rootcellar/cellar/odd", """{"temperature":4.2,"humidity":93,"lux":0}""", "/temperature temperature_c; /humidity humidity_pct; /lux light_lx"),
        ("rootcellar/cellar/odd2/pressure_hpa", "1009", "1 pressure_pa hPa"),
        // More of a state topic for each figure, and what stands there while nothing is measured.
        ("kitchen/co2", "640", "1 co2_ppm"),
        ("node8/sensor/air_temperature/state", "unavailable", "none: no-figure"),
        ("node8/sensor/door/state", "ON", "none: no-figure"),
        ("attic/humidity", "91%", "1 humidity_pct"),
        ("attic/temp/celsius", "+12.8\r\n", "1 temperature_c"),
        ("attic/exponent/temperature", "1.28e1", "1 temperature_c"),
        ("attic/mark/temperature", "\uFEFF12.8", "1 temperature_c"),
        // Text with the unit in words, in kelvin, with a star for the degree.
        ("barn/words", "12.8 Celsius", "1 temperature_c"),
        ("barn/deg", "38 degF", "1 temperature_c F"),
        ("barn/star", "Temperature = 38 *F, Humidity = 91 %", "Temperature temperature_c F; Humidity humidity_pct"),
        ("barn/kelvin", "285.9 K", "1 temperature_c K"),
        ("barn/printed", "Temp:12.8C Hum:91% Batt:2.9V", "Temp temperature_c; Hum humidity_pct; Batt battery_v"),
        ("barn/letters", "T:12.80 H:91.00 P:1009.20", "T temperature_c; H humidity_pct; P pressure_pa hPa"),
        ("barn/query", "temp=54.5&hum=91&bat=2.9", "temp temperature_c F; hum humidity_pct; bat battery_v"),
        // Lists without names are asked about, whatever stands between; a comma is never taken for two things.
        ("list/bars", "12.8|91|1009", ""),
        ("list/tabs", "12.8\t91", ""),
        ("list/commas", "1793599800,12.8,91", ""),
        ("list/decimal commas", "12,8;91,2", ""),
        ("list/array", "[12.8,91]", ""),
        ("list/arrays", "[[12.8,91],[12.9,90]]", ""),
        // A line of names above one of figures.
        ("csv/comma", "temperature,humidity,battery\n12.8,91,87", "temperature temperature_c; humidity humidity_pct; battery battery_pct"),
        ("csv/semicolon", "time;temp;rh\n2026-11-02T06:10:00Z;4,1;93", "temp temperature_c; rh humidity_pct"),
        ("line/protocol", "air,room=cellar temperature=12.8,humidity=91i 1793599800000000000", "temperature temperature_c; humidity humidity_pct"),
        // The name beside the value: SenML (RFC 8428) on a topic of its own, and its cousins.
        ("senml/pack", """[{"bn":"urn:dev:ow:10e2073a0108006:","bt":1793599800,"n":"temperature","u":"Cel","v":12.8},{"n":"humidity","u":"%RH","v":91}]""",
            "/0/v temperature_c; /1/v humidity_pct"),
        ("senml/units", """[{"n":"a1","u":"K","v":285.95},{"n":"b2","u":"lx","v":3}]""", "/0/v temperature_c K; /1/v light_lx"),
        ("named/list", """{"sensors":[{"type":"temperature","value":12.8,"unit":"°C"},{"type":"humidity","value":91,"unit":"%"}]}""",
            "/sensors/0/value temperature_c; /sensors/1/value humidity_pct"),
        ("named/units", """{"temperature":{"value":38.5,"unit":"F"},"humidity":{"value":91,"unit":"%"}}""",
            "/temperature/value temperature_c F; /humidity/value humidity_pct"),
        ("named/apart", """{"fields":["temperature","humidity"],"values":[12.8,91]}""", ""),
        // In the words of the house.
        ("keller/klima", """{"temperatur":12.8,"luftfeuchte":91.2,"luftdruck":1009,"batterie":87,"taupunkt":11.4,"bodenfeuchte":40}""",
            "/temperatur temperature_c; /luftfeuchte humidity_pct; /luftdruck pressure_pa hPa; /batterie battery_pct"),
        ("keller/text", """{"Temperatur":"4,1 °C","Luftfeuchtigkeit":"93 %","Taupunkt":"3,1 °C"}""", "/Temperatur temperature_c; /Luftfeuchtigkeit humidity_pct"),
        ("sotano/aire", """{"temperatura":12.8,"humedad":91,"presión":1009,"luz":3,"batería":88,"punto_rocio":11,"humedad_suelo":40}""",
            "/temperatura temperature_c; /humedad humidity_pct; /presión pressure_pa hPa; /luz light_lx; /batería battery_pct"),
        ("cave/air", """{"température":4.1,"humidité":93,"pression":1009,"lumière":2}""",
            "/température temperature_c; /humidité humidity_pct; /pression pressure_pa hPa; /lumière light_lx"),
        // Numbers as text, units in names.
        ("shed/strings", """{"temperature":"12.8","humidity":"91"}""", "/temperature temperature_c; /humidity humidity_pct"),
        ("shed/fahrenheit", """{"temp_f":38.5,"temperatureF":38.5,"tempf":38.5,"fahrenheit":38.5}""",
            "/temp_f temperature_c F; /temperatureF temperature_c F; /tempf temperature_c F; /fahrenheit temperature_c F"),
        ("shed/pressures", """{"pressure_kpa":100.9,"pressure_mmhg":757,"pressure_inhg":29.8,"pressure":29.8}""",
            "/pressure_kpa pressure_pa kPa; /pressure_mmhg pressure_pa mmHg; /pressure_inhg pressure_pa inHg; /pressure pressure_pa inHg"),
        ("shed/volts", """{"battery_voltage":2.9,"bat_mv":2950,"battery_level":77}""", "/battery_voltage battery_v; /bat_mv battery_v mV; /battery_level battery_pct"),
        ("shed/scale", """{"weight_g":1200,"weight_lb":50,"weight":22.7}""", "/weight_g weight_kg g; /weight_lb weight_kg lb; /weight weight_kg"),
        ("shed/probe", """{"pulp":4.2,"pulp_temp_f":39.6}""", "/pulp pulp_c; /pulp_temp_f pulp_c F"),
        ("shed/two", """{"temp1":12.8,"temp2":4.1}""", "/temp1 temperature_c; /temp2 temperature_c"),
        ("shed/ragged", """{"sensor.temperature":12.8,"Temp (°C)":4.2,"RH (%)":93,"Temp °F":38}""",
            "/sensor.temperature temperature_c; /Temp (°C) temperature_c; /RH (%) humidity_pct; /Temp °F temperature_c F"),
        // Made JSON twice, and one number in quotes.
        ("wrapped/json", """ "{\"temperature\":12.8,\"humidity\":91}" """, "/temperature temperature_c; /humidity humidity_pct"),
        ("wrapped/temperature", "\"12.8\"", "1 temperature_c"),
        // Beside what is measured stands much that is not: hours, numbers, the board's own warmth, what is wished for or worked out.
        ("other/bookkeeping", """{"ts":1793599800,"temp":4.1,"uptime":12,"heap":41,"fw":2.1,"seq":9,"interval":60,"lat":52.1}""", "/temp temperature_c"),
        ("other/temperature", """{"t":1793599800,"uptime":45}""", ""),
        ("other/board", """{"device_temperature":33,"cpu_temperature":48,"chip_temp":41.2,"temperature":4.2}""", "/temperature temperature_c"),
        ("other/heating", """{"target_temperature":12,"current_temperature":12.8,"temperature_calibration":0,"temp_min":3,"temp_max":9}""",
            "/current_temperature temperature_c"),
        ("other/worked out", """{"temperature":12.8,"dew_point":11.4,"heat_index":12,"absolute_humidity":9.8,"vpd":0.13}""", "/temperature temperature_c"),
        ("other/light", """{"light":3,"uv_index":2,"light_state":1}""", "/light light_lx"),
        ("other/water", """{"water_temp":9.1,"wind_speed":3,"rain_mm":0}""", ""),
        ("other/status", """{"wifi":{"rssi":-60,"ssid":"barn"},"uptime":812,"temperature":{"tC":48.2,"tF":118.8}}""",
            "/wifi/rssi rssi_dbm; /temperature/tC temperature_c; /temperature/tF temperature_c F"),
        // In tenths and hundredths: no unit says so, so it is asked; and what a broken wire says is no temperature.
        ("odd/hundredths", """{"temperature":1280,"humidity":9100}""", ""),
        ("odd/tenths", """{"temp":128,"temp_c_x10":128}""", ""),
        ("odd/broken wire", """{"temperature":-127,"humidity":93}""", "/humidity humidity_pct"),
        ("odd/null", """{"temperature":null,"humidity":93}""", "/humidity humidity_pct"),
        ("odd/nan", """{"temperature":nan,"humidity":NaN}""", "none: no-figure"),
        ("odd/yes or no", """{"contact":true,"tamper":false,"battery_low":false}""", "none: no-figure"),
        // Not understood, and said to be so.
        ("raw/hex", "0128015b", "none: no-figure"),
        ("raw/base64", "DPgBWwtWAA==", "none: no-figure"),
        ("raw/uplink", """{"port":2,"data":"DPgBWwtWAA=="}""", ""),
        ("raw/xml", """<reading><temperature unit="C">12.8</temperature></reading>""", "none: no-figure"),
        ("raw/quotes", "{'temperature':12.8}", "none: no-figure"),
        ("raw/words", "door open", "none: no-figure"),
        ("raw/large", $$"""{"temperature":4.1,"log":"{{new string('y', 9_000)}}"}""", "/temperature temperature_c"),
        ("raw/huge", $$"""{"temperature":4.1,"log":"{{new string('y', 17_000)}}"}""", "none: too-long"),
    ];

    /// <summary>Bytes that are no text, which only whatever sends them can read: a float, packed JSON, a zipped message, text of 16 bits a letter.</summary>
    public static readonly (string Topic, byte[] Payload, string Offered)[] Bytes =
    [
        ("raw/float", [0xcd, 0xcc, 0x4c, 0x41], "none: binary"),
        ("raw/packed", [0xa1, 0x61, 0x74, 0xf9, 0x4a, 0x66], "none: binary"),
        ("raw/zipped", [0x1f, 0x8b, 8, 0, 0, 0, 0, 0, 0, 3, 0x33, 0x34, 0xd2, 0xb3], "none: binary"),
        ("raw/sixteen", [0xff, 0xfe, 0x31, 0, 0x32, 0, 0x2e, 0, 0x38, 0], "none: binary"),
    ];

    public static IEnumerable<(string Topic, byte[] Payload, string Offered)> All =>
        Text.Select(s => (s.Topic, System.Text.Encoding.UTF8.GetBytes(s.Payload), s.Offered)).Concat(Bytes);
}
