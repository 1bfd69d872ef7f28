// The messages of DIN SPEC 70121:2014, in the notation that notation.ts reads. Written from memory;
// checked by tests/wire/exi/vectors.test.ts. Messages that d.c. charging does not use stand by name
// alone (partial): their names decide bit widths, their fields are not known well enough to be
// read. SalesTariff is never used, yet its presence decides bit widths too. PMax carries no unit.
export const DIN_70121 = `
schema din urn:din:70121:2012:
ns MsgDataTypes
enum unitSymbolType h m s A Ah V VA W W_s Wh
int unitMultiplierType byte -3 3
int percentValueType byte 0 100
enum EVSENotificationType None StopCharging ReNegotiation
enum isolationLevelType Invalid Safe Warning Fault
enum DC_EVSEStatusCodeType
 EVSE_NotReady EVSE_Ready EVSE_Shutdown EVSE_UtilityInterruptEvent EVSE_IsolationMonitoringActive
 EVSE_EmergencyShutdown EVSE_Malfunction Reserved_8 Reserved_9 Reserved_A Reserved_B Reserved_C
enum DC_EVErrorCodeType
 NO_ERROR FAILED_RESSTemperatureInhibit FAILED_EVShiftPosition FAILED_ChargerConnectorLockFault
 FAILED_EVRESSMalfunction FAILED_ChargingCurrentdifferential FAILED_ChargingVoltageOutOfRange
 Reserved_A Reserved_B Reserved_C FAILED_ChargingSystemIncompatibility NoData
enum EVSEProcessingType Finished Ongoing
enum paymentOptionType Contract ExternalPayment
enum serviceCategoryType EVCharging Internet ContractCertificate OtherCustom
enum EVSESupportedEnergyTransferType
 AC_single_phase_core AC_three_phase_core DC_core DC_extended DC_combo_core DC_dual
 AC_core1p_DC_extended AC_single_DC_core AC_single_phase_three_phase_core_DC_extended
 AC_core3p_DC_extended
enum EVRequestedEnergyTransferType
 AC_single_phase_core AC_three_phase_core DC_core DC_extended DC_combo_core DC_unique
enum costKindType relativePricePercentage RenewableGenerationPercentage CarbonDioxideEmission
enum faultCodeType ParsingError NoTLSRootCertificatAvailable UnknownError
enum responseCodeType
 OK OK_NewSessionEstablished OK_OldSessionJoined OK_CertificateExpiresSoon FAILED
 FAILED_SequenceError FAILED_ServiceIDInvalid FAILED_UnknownSession FAILED_ServiceSelectionInvalid
 FAILED_PaymentSelectionInvalid FAILED_CertificateExpired FAILED_SignatureError
 FAILED_NoCertificateAvailable FAILED_CertChainError FAILED_ChallengeInvalid
 FAILED_ContractCanceled FAILED_WrongChargeParameter FAILED_PowerDeliveryNotApplied
 FAILED_TariffSelectionInvalid FAILED_ChargingProfileInvalid FAILED_EVSEPresentVoltageToLow
 FAILED_MeteringSignatureNotValid FAILED_WrongEnergyTransferType
hex sessionIDType 8
hex evccIDType 8
hex evseIDType 32
str serviceNameType 0 32
str serviceScopeType 0 64
str faultMsgType 0 64
str contractIDType 0 24
str tariffDescriptionType 0 32
plain serviceIDType unsignedShort
plain SAIDType short
int relStartType unsignedInt 0 4294967295
type PhysicalValueType
 Multiplier unitMultiplierType
 Unit unitSymbolType ?
 Value short
type EVSEStatusType abstract
type DC_EVSEStatusType : EVSEStatusType
 EVSEIsolationStatus isolationLevelType ?
 EVSEStatusCode DC_EVSEStatusCodeType
 NotificationMaxDelay unsignedInt
 EVSENotification EVSENotificationType
type AC_EVSEStatusType : EVSEStatusType
 PowerSwitchClosed boolean
 RCD boolean
 NotificationMaxDelay unsignedInt
 EVSENotification EVSENotificationType
element EVSEStatus EVSEStatusType abstract
element DC_EVSEStatus DC_EVSEStatusType subst EVSEStatus
element AC_EVSEStatus AC_EVSEStatusType subst EVSEStatus
type EVStatusType abstract
type DC_EVStatusType : EVStatusType
 EVReady boolean
 EVCabinConditioning boolean ?
 EVRESSConditioning boolean ?
 EVErrorCode DC_EVErrorCodeType
 EVRESSSOC percentValueType
element EVStatus EVStatusType abstract
element DC_EVStatus DC_EVStatusType subst EVStatus
type EVChargeParameterType abstract
type DC_EVChargeParameterType : EVChargeParameterType
 DC_EVStatus DC_EVStatusType
 EVMaximumCurrentLimit PhysicalValueType
 EVMaximumPowerLimit PhysicalValueType ?
 EVMaximumVoltageLimit PhysicalValueType
 EVEnergyCapacity PhysicalValueType ?
 EVEnergyRequest PhysicalValueType ?
 FullSOC percentValueType ?
 BulkSOC percentValueType ?
element EVChargeParameter EVChargeParameterType abstract
element DC_EVChargeParameter DC_EVChargeParameterType subst EVChargeParameter
type AC_EVChargeParameterType : EVChargeParameterType
 DepartureTime unsignedInt
 EAmount PhysicalValueType
 EVMaxVoltage PhysicalValueType
 EVMaxCurrent PhysicalValueType
 EVMinCurrent PhysicalValueType
element AC_EVChargeParameter AC_EVChargeParameterType subst EVChargeParameter
type EVSEChargeParameterType abstract
type DC_EVSEChargeParameterType : EVSEChargeParameterType
 DC_EVSEStatus DC_EVSEStatusType
 EVSEMaximumCurrentLimit PhysicalValueType
 EVSEMaximumPowerLimit PhysicalValueType ?
 EVSEMaximumVoltageLimit PhysicalValueType
 EVSEMinimumCurrentLimit PhysicalValueType
 EVSEMinimumVoltageLimit PhysicalValueType
 EVSECurrentRegulationTolerance PhysicalValueType ?
 EVSEPeakCurrentRipple PhysicalValueType
 EVSEEnergyToBeDelivered PhysicalValueType ?
element EVSEChargeParameter EVSEChargeParameterType abstract
element DC_EVSEChargeParameter DC_EVSEChargeParameterType subst EVSEChargeParameter
type AC_EVSEChargeParameterType : EVSEChargeParameterType
 AC_EVSEStatus AC_EVSEStatusType
 EVSEMaxVoltage PhysicalValueType
 EVSEMaxCurrent PhysicalValueType
 EVSEMinCurrent PhysicalValueType
element AC_EVSEChargeParameter AC_EVSEChargeParameterType subst EVSEChargeParameter
type EVPowerDeliveryParameterType abstract
type DC_EVPowerDeliveryParameterType : EVPowerDeliveryParameterType
 DC_EVStatus DC_EVStatusType
 BulkChargingComplete boolean ?
 ChargingComplete boolean
element EVPowerDeliveryParameter EVPowerDeliveryParameterType abstract
element DC_EVPowerDeliveryParameter DC_EVPowerDeliveryParameterType subst EVPowerDeliveryParameter
type IntervalType abstract
type RelativeTimeIntervalType : IntervalType
 start relStartType
 duration unsignedInt ?
element TimeInterval IntervalType abstract
element RelativeTimeInterval RelativeTimeIntervalType subst TimeInterval
type EntryType abstract
 ref TimeInterval
type PMaxScheduleEntryType : EntryType
 PMax short
type CostType
 costKind costKindType
 amount unsignedInt
 amountMultiplier unitMultiplierType ?
type ConsumptionCostType
 startValue unsignedInt
 Cost CostType 1..unbounded
type SalesTariffEntryType : EntryType
 EPriceLevel unsignedByte
 ConsumptionCost ConsumptionCostType 0..unbounded
element Entry EntryType abstract
element PMaxScheduleEntry PMaxScheduleEntryType subst Entry
element SalesTariffEntry SalesTariffEntryType subst Entry
type PMaxScheduleType
 PMaxScheduleID SAIDType
 ref PMaxScheduleEntry 1..unbounded
type SalesTariffType
 @Id ID ?
 SalesTariffID SAIDType
 SalesTariffDescription tariffDescriptionType ?
 NumEPriceLevels unsignedByte
 ref SalesTariffEntry 1..unbounded
type SAScheduleTupleType
 SAScheduleTupleID SAIDType
 PMaxSchedule PMaxScheduleType
 SalesTariff SalesTariffType ?
type SASchedulesType abstract
type SAScheduleListType : SASchedulesType
 SAScheduleTuple SAScheduleTupleType 1..unbounded
element SASchedules SASchedulesType abstract
element SAScheduleList SAScheduleListType subst SASchedules
type ProfileEntryType
 ChargingProfileEntryStart unsignedInt
 ChargingProfileEntryMaxPower short
type ChargingProfileType
 SAScheduleTupleID SAIDType
 ProfileEntry ProfileEntryType 1..unbounded
type ServiceTagType
 ServiceID serviceIDType
 ServiceName serviceNameType ?
 ServiceCategory serviceCategoryType
 ServiceScope serviceScopeType ?
type ServiceType
 ServiceTag ServiceTagType
 FreeService boolean
type ServiceChargeType : ServiceType
 EnergyTransferType EVSESupportedEnergyTransferType
element ServiceCharge ServiceChargeType
type PaymentOptionsType
 PaymentOption paymentOptionType 1..unbounded
type ServiceTagListType
 Service ServiceType 1..unbounded
type SelectedServiceType
 ServiceID serviceIDType
 ParameterSetID short ?
type SelectedServiceListType
 SelectedService SelectedServiceType 1..unbounded
type NotificationType
 FaultCode faultCodeType
 FaultMsg faultMsgType ?
ns MsgHeader
type MessageHeaderType
 SessionID sessionIDType
 Notification NotificationType ?
 ref ds:Signature ?
ns MsgBody
type BodyBaseType abstract
element BodyElement BodyBaseType abstract
msg SessionSetupReq
 EVCCID evccIDType
msg SessionSetupRes
 ResponseCode responseCodeType
 EVSEID evseIDType
 DateTimeNow long ?
msg ServiceDiscoveryReq
 ServiceType serviceCategoryType ?
 ServiceScope serviceScopeType ?
msg ServiceDiscoveryRes
 ResponseCode responseCodeType
 PaymentOptions PaymentOptionsType
 ChargeService ServiceChargeType
 ServiceList ServiceTagListType ?
msg ServiceDetailReq partial
msg ServiceDetailRes partial
msg ServicePaymentSelectionReq
 SelectedPaymentOption paymentOptionType
 SelectedServiceList SelectedServiceListType
msg ServicePaymentSelectionRes
 ResponseCode responseCodeType
msg PaymentDetailsReq partial
msg PaymentDetailsRes partial
msg ContractAuthenticationReq
 @Id ID ?
 GenChallenge string ?
msg ContractAuthenticationRes
 ResponseCode responseCodeType
 EVSEProcessing EVSEProcessingType
msg ChargeParameterDiscoveryReq
 EVRequestedEnergyTransferType EVRequestedEnergyTransferType
 ref EVChargeParameter
msg ChargeParameterDiscoveryRes
 ResponseCode responseCodeType
 EVSEProcessing EVSEProcessingType
 ref SASchedules ?
 ref EVSEChargeParameter
msg PowerDeliveryReq
 ReadyToChargeState boolean
 ChargingProfile ChargingProfileType ?
 ref EVPowerDeliveryParameter ?
msg PowerDeliveryRes
 ResponseCode responseCodeType
 ref EVSEStatus
msg ChargingStatusReq partial
msg ChargingStatusRes partial
msg MeteringReceiptReq partial
msg MeteringReceiptRes partial
msg SessionStopReq
msg SessionStopRes
 ResponseCode responseCodeType
msg CertificateUpdateReq partial
msg CertificateUpdateRes partial
msg CertificateInstallationReq partial
msg CertificateInstallationRes partial
msg CableCheckReq
 DC_EVStatus DC_EVStatusType
msg CableCheckRes
 ResponseCode responseCodeType
 DC_EVSEStatus DC_EVSEStatusType
 EVSEProcessing EVSEProcessingType
msg PreChargeReq
 DC_EVStatus DC_EVStatusType
 EVTargetVoltage PhysicalValueType
 EVTargetCurrent PhysicalValueType
msg PreChargeRes
 ResponseCode responseCodeType
 DC_EVSEStatus DC_EVSEStatusType
 EVSEPresentVoltage PhysicalValueType
msg CurrentDemandReq
 DC_EVStatus DC_EVStatusType
 EVTargetCurrent PhysicalValueType
 EVMaximumVoltageLimit PhysicalValueType ?
 EVMaximumCurrentLimit PhysicalValueType ?
 EVMaximumPowerLimit PhysicalValueType ?
 BulkChargingComplete boolean ?
 ChargingComplete boolean
 RemainingTimeToFullSoC PhysicalValueType ?
 RemainingTimeToBulkSoC PhysicalValueType ?
 EVTargetVoltage PhysicalValueType
msg CurrentDemandRes
 ResponseCode responseCodeType
 DC_EVSEStatus DC_EVSEStatusType
 EVSEPresentVoltage PhysicalValueType
 EVSEPresentCurrent PhysicalValueType
 EVSECurrentLimitAchieved boolean
 EVSEVoltageLimitAchieved boolean
 EVSEPowerLimitAchieved boolean
 EVSEMaximumVoltageLimit PhysicalValueType ?
 EVSEMaximumCurrentLimit PhysicalValueType ?
 EVSEMaximumPowerLimit PhysicalValueType ?
msg WeldingDetectionReq
 DC_EVStatus DC_EVStatusType
msg WeldingDetectionRes
 ResponseCode responseCodeType
 DC_EVSEStatus DC_EVSEStatusType
 EVSEPresentVoltage PhysicalValueType
ns MsgDef
document V2G_Message
element V2G_Message
 Header MessageHeaderType
 Body V2G_BodyType
type V2G_BodyType
 ref BodyElement ?
`;
